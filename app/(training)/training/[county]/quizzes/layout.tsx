import type { ReactNode } from 'react'
import './quizzes.css'

export default ({ children }: { children: ReactNode }) => children
