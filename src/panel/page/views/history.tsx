export function History(_: { readonly incident?: string | null }) {
  return <p>soon</p>;
}
