/** Small pictures of places, drawn by us and generic: they set the scene and are never needed to answer, so
 *  screen readers pass them over. */
const SCENES: Record<string, React.ReactNode> = {
  station: (
    <>
      <path d="M30 96h140M44 96v22M156 96v22" />
      <rect x="62" y="34" width="76" height="54" rx="6" className="play-fill" />
      <path d="M72 46h40M72 58h52M72 70h30" />
      <path d="M84 88v8h32v-8" />
      <path d="M52 28v60M148 28v60" strokeDasharray="4 5" />
    </>
  ),
  table: (
    <>
      <path d="M20 84h160M34 84v34M166 84v34" />
      <path d="M52 84l6-26h40l6 26" className="play-fill" />
      <rect x="122" y="66" width="30" height="18" className="play-fill" />
      <path d="M126 62h26M130 58h22" />
      <circle cx="100" cy="26" r="11" />
      <path d="M80 56c2-14 38-14 40 0" />
    </>
  ),
  scanner: (
    <>
      <path d="M62 52h76v66H62z" className="play-fill" />
      <path d="M54 34h92l-8 18H62z" />
      <path d="M78 34l6-20h32l6 20" />
      <path d="M88 22h24M94 78h12v12H94z" />
    </>
  ),
  door: (
    <>
      <path d="M70 118V22h60v96" className="play-fill" />
      <path d="M20 118h160" />
      <circle cx="120" cy="72" r="3" />
      <path d="M84 34h32v14H84z" />
      <path d="M30 60h22v16H30zM41 76v42" />
    </>
  ),
  room: (
    <>
      <path d="M16 18h168v98H16z" />
      <path d="M30 92h36v12H30zM30 60h24v12H30zM92 30h20v16H92zM124 30h20v16h-20z" className="play-fill" />
      <path d="M152 66h20v26h-20z" className="play-fill" />
      <path d="M92 116v-14h24v14" />
    </>
  ),
  log: (
    <>
      <path d="M56 14h88v104H56z" className="play-fill" />
      <path d="M68 34h64M68 50h64M68 66h64M68 82h40M68 98h50" />
      <path d="M56 14v104M62 14v104" />
    </>
  ),
}

interface Props {
  scene: string | undefined
  /** Numbered dots for the things of a scene: true where marked. */
  dots?: boolean[]
}

export function ScenePicture({ scene, dots = [] }: Props) {
  const drawing = scene ? SCENES[scene] : undefined
  if (!drawing) return null
  const columns = Math.ceil(dots.length / 2)
  return (
    <svg className="play-scene" viewBox="0 0 200 132" aria-hidden="true">
      <g fill="none" stroke="currentColor" strokeWidth="2" strokeLinejoin="round" strokeLinecap="round">
        {drawing}
      </g>
      {dots.map((marked, i) => {
        const x = 16 + ((i % columns) + 0.5) * (168 / columns)
        const y = i < columns ? 26 : 104
        return (
          <g
            key={i}
            className={marked ? 'play-dot play-dot-on' : 'play-dot'}
            transform={`translate(${x} ${y})`}
          >
            <circle r="10" />
            <text textAnchor="middle" dy="4">
              {marked ? '✕' : i + 1}
            </text>
          </g>
        )
      })}
    </svg>
  )
}
