import type { ReactNode } from 'react'
import './admin.css'

export default ({ children }: { children: ReactNode }) => children
