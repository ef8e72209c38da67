export function WhatIfView(_: { readonly incident?: string | null }) {
  return <p>soon</p>;
}
