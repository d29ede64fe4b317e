import type { ReactNode } from 'react'
import { ForgetKept } from './forget-kept'

export default ({ children }: { children: ReactNode }) => (
  <>
    {children}
    <ForgetKept />
  </>
)
