/** Ends the sign-in. A plain form, so that it works on any tablet at any time. */
export const SignOut = ({ label, name }: { label: string; name: string }) => (
  <form action="/sign-out" method="post" className="row">
    <span className="name small quiet">{name}</span>
    <button type="submit">{label}</button>
  </form>
)
