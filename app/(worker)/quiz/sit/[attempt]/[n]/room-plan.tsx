interface Place {
  id: string
  text: string
  x: number
  y: number
  width: number
  height: number
}

/** Where a fixture's name stands so that it stays inside the plan; a letter is about 1.9 wide at this size. */
const inside = (f: Place): number => {
  const half = Math.min(50, f.text.length * 0.95)
  return Math.min(100 - half, Math.max(half, f.x + f.width / 2))
}

/** The plan of the room: fixtures by name, areas by the number that their choice has. Never needed to answer. */
export const RoomPlan = ({ areas, fixtures }: { areas: Place[]; fixtures: Place[] }) => (
  <svg className="room-plan" viewBox="0 0 100 100" aria-hidden="true" focusable="false">
    <rect width="100" height="100" fill="var(--panel)" stroke="var(--line)" />
    {fixtures.map((f) => (
      <g key={f.id}>
        <rect
          x={f.x}
          y={f.y}
          width={f.width}
          height={f.height}
          fill="var(--shade)"
          stroke="var(--line-soft)"
        />
        <text x={inside(f)} y={f.y + f.height / 2 + 1.2} textAnchor="middle" fontSize="3.6" fill="var(--ink)">
          {f.text}
        </text>
      </g>
    ))}
    {areas.map((a, i) => (
      <g key={a.id}>
        <rect
          x={a.x}
          y={a.y}
          width={a.width}
          height={a.height}
          fill="var(--accent-soft)"
          stroke="var(--accent)"
          strokeDasharray="2 1.5"
        />
        <text
          x={a.x + a.width / 2}
          y={a.y + a.height / 2 + 2}
          textAnchor="middle"
          fontSize="6"
          fontWeight="700"
          fill="var(--ink)"
        >
          {i + 1}
        </text>
      </g>
    ))}
  </svg>
)
