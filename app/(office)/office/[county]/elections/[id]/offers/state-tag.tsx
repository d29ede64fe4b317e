import { Tag } from '@/app/ui/notice'
import type { OfferState } from '@/lib/offers/core/status'
import { STATE_KIND, STATE_SIGN, STATE_TEXT } from './words'

export const StateTag = ({ state }: { state: OfferState }) => (
  <Tag kind={STATE_KIND[state]}>
    {STATE_SIGN[state]} {STATE_TEXT[state]}
  </Tag>
)
