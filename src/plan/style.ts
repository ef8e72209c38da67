// The look of the page. Greys, rules and weights of type; nothing depends on a colour, and it prints as it stands.
export const STYLE = `
:root { --ink: #1c1c1c; --soft: #555; --mend: #333; --rule: #9a9a9a; --hair: #ddd; --wash: #f1f1f1; --paper: #fff; }
* { box-sizing: border-box; }
html { -webkit-text-size-adjust: 100%; }
body {
  margin: 0 auto; padding: 2rem 1.25rem 4rem; max-width: 56rem;
  color: var(--ink); background: var(--paper);
  font: 400 1rem/1.5 Georgia, "Times New Roman", serif;
}
h1, h2, h3, th, dt, .tag, nav, summary, figcaption, caption, footer, .prepared {
  font-family: "Helvetica Neue", Arial, "Liberation Sans", sans-serif;
}
h1 { font-size: 1.75rem; line-height: 1.2; margin: 0 0 .25rem; }
h2 { font-size: 1.2rem; line-height: 1.25; margin: 2.75rem 0 .75rem; padding-top: .6rem; border-top: 2px solid var(--ink); }
p { margin: 0 0 .6rem; max-width: 44rem; }
.prepared { color: var(--soft); margin: 0; }
nav { margin: 1.5rem 0 0; font-size: .875rem; }
nav ol { columns: 3 13rem; margin: 0; padding-left: 1.4rem; }
nav li { padding: .1rem 0; }
a { color: inherit; }
ul.cautions { list-style: none; margin: 0; padding: 0; }
ul.cautions li { margin: 0 0 .75rem; padding: .55rem .8rem; border: 1px solid var(--rule); border-left-width: 6px; break-inside: avoid; }
ul.cautions li.danger { border-color: var(--ink); border-left: 14px double var(--ink); }
ul.cautions li.fails { border-left-color: var(--ink); }
ul.cautions p { margin: 0; max-width: none; }
.tag { font-size: .8125rem; font-weight: 700; }
.tag span { font-weight: 400; color: var(--soft); }
.mend { color: var(--mend); }
dl { display: grid; grid-template-columns: minmax(12rem, max-content) auto; gap: 0; margin: 1rem 0; max-width: 44rem; }
dt, dd { margin: 0; padding: .2rem 0; border-bottom: 1px solid var(--hair); }
dt { font-size: .875rem; padding-right: 1.5rem; }
dd { text-align: right; font-variant-numeric: tabular-nums; }
.wide { overflow-x: auto; margin: 1.25rem 0; }
table { border-collapse: collapse; min-width: min(100%, 26rem); font-size: .875rem; line-height: 1.35; }
caption { text-align: left; font-weight: 700; padding: 0 0 .35rem; }
th, td { padding: .22rem .8rem .22rem 0; text-align: left; vertical-align: top; }
th { font-weight: 700; font-size: .8125rem; border-bottom: 1px solid var(--ink); vertical-align: bottom; }
th .unit { display: block; font-weight: 400; color: var(--soft); }
td { border-bottom: 1px solid var(--hair); }
th.n, td.n { text-align: right; font-variant-numeric: tabular-nums; }
td.n { white-space: nowrap; }
td:first-child { min-width: 5.5rem; }
figure { margin: 1.5rem 0; break-inside: avoid; }
figcaption { font-size: .875rem; font-weight: 700; margin-bottom: .35rem; }
figure svg { display: block; width: 100%; max-width: 37rem; height: auto; border: 1px solid var(--hair); }
details { font-size: .875rem; margin-top: .35rem; }
summary { cursor: pointer; color: var(--soft); padding: .2rem 0; }
.sources { font-size: .8125rem; color: var(--soft); }
.pair { display: grid; grid-template-columns: 1fr 1fr; gap: 1rem; }
footer { margin-top: 3rem; padding-top: .75rem; border-top: 2px solid var(--ink); font-size: .8125rem; }
@media (max-width: 34rem) {
  body { padding: 1.25rem 1rem 3rem; }
  h1 { font-size: 1.4rem; }
  dl { grid-template-columns: 1fr auto; }
  dt { padding-right: .75rem; }
  .pair { grid-template-columns: 1fr; }
}
@page { size: A4; margin: 16mm 15mm 18mm; }
@media print {
  body { padding: 0; max-width: none; font-size: 10pt; line-height: 1.4; }
  h1 { font-size: 17pt; }
  h2 { font-size: 12.5pt; margin-top: 9mm; break-after: avoid; }
  nav, details { display: none; }
  p { orphans: 3; widows: 3; max-width: none; }
  .wide { overflow: visible; }
  tr, dl, .short, .pair { break-inside: avoid; }
  caption { break-after: avoid; }
  figure svg { max-width: 150mm; }
  a { text-decoration: none; }
}
`;
