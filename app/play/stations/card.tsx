import type { CardWay } from '@/lib/scenarios/equipment-schema'
import type { EquipmentProfile } from '@/lib/scenarios/schema'

/** A ballot card seen from above, its leading end at the top of the picture. Turning rotates it, flipping mirrors it:
 *  the cue goes where it would on real paper. */
export function CardDrawing({
  way,
  profile,
  printed,
  x,
  y,
}: {
  way: CardWay
  profile: EquipmentProfile
  printed: boolean
  x: number
  y: number
}) {
  const up = way.face === 'up'
  const cueEnd = profile.card.accepts[0]!.lead
  const turn = way.lead === 'top' ? 0 : 180
  const outline =
    profile.card.cue === 'cut-corner' ? 'M-26 -40 H14 L26 -28 V40 H-26 Z' : 'M-26 -40 H26 V40 H-26 Z'
  return (
    <g className="play-card-place" style={{ transform: `translate(${x}px, ${y}px)` }}>
      <g className="play-card-turn" style={{ transform: `rotate(${turn}deg) scale(${up ? 1 : -1}, 1)` }}>
        <path d={outline} className={up ? 'play-card' : 'play-card play-card-back'} />
        <g className={up ? '' : 'play-ghost'}>
          {profile.card.cue === 'arrow' ? (
            <path
              transform={cueEnd === 'top' ? '' : 'rotate(180)'}
              d="M0 -35 l9 12 h-5 v12 h-8 v-12 h-5 z"
              className="play-ink"
            />
          ) : null}
          {up && !printed ? <path d="M-18 -4 h36 M-18 6 h36 M-18 16 h24" className="play-line" /> : null}
          {up && printed ? (
            <path d="M-18 -6 h20 M-18 4 h26 M-18 14 h16 M-18 24 h22" className="play-line play-line-strong" />
          ) : null}
        </g>
        {profile.card.cue === 'shaded-band' ? (
          <rect x="-26" y={cueEnd === 'top' ? -40 : 29} width="52" height="11" className="play-ink" />
        ) : null}
        {profile.card.cue === 'cut-corner' ? (
          <path d="M14 -40 L26 -28" className="play-line-strong play-line" />
        ) : null}
      </g>
    </g>
  )
}
