import type { ReactNode } from 'react'
import './office.css'

export default ({ children }: { children: ReactNode }) => children
