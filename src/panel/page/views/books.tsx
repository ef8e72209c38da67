export function Books(_: { readonly incident?: string | null }) {
  return <p>soon</p>;
}
