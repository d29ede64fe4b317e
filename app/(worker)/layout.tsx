import type { ReactNode } from 'react'
import './worker.css'

export default ({ children }: { children: ReactNode }) => children
