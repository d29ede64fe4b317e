import type { ReactNode } from 'react'
import './office.css'
import './people.css'

export default ({ children }: { children: ReactNode }) => children
