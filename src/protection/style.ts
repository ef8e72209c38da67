// What the protection report adds to the look of a printed page: night, tables that fold into cards on a telephone, boxes
// to tick, and the drawing of fault trees. A single line is "any of", a double line "all of"; a ring is a failure, a filled
// square a common cause. Greys only, and each mark stands beside its word.
export const OWN_STYLE = `
:root { color-scheme: light dark; }
@media screen and (prefers-color-scheme: dark) {
  :root { --ink: #e8e8e8; --soft: #b4b4b4; --mend: #cfcfcf; --rule: #8a8a8a; --hair: #3c3c3c; --wash: #262626; --paper: #161616; }
}
h3 { font-size: 1rem; line-height: 1.3; margin: 1.75rem 0 .4rem; }
.consequence { margin-bottom: .3rem; }
.held { font-size: .875rem; color: var(--soft); }
.held a { white-space: nowrap; }
.key { white-space: nowrap; font-weight: 700; }
.lead { font-weight: 700; }
ul.plain { list-style: none; margin: 0 0 1rem; padding: 0; }
ul.plain > li { margin: 0 0 .5rem; max-width: 48rem; break-inside: avoid; }
ul.plain ul { list-style: none; padding: 0 0 0 1.6rem; margin: .2rem 0 .9rem; font-size: .9375rem; }
ul.plain ul li { padding: .1rem 0; }
.box { display: inline-block; width: .85em; height: .85em; border: 1px solid var(--ink); margin-right: .6em; vertical-align: -.06em; }
table.fold { width: 100%; table-layout: fixed; font-size: .8125rem; }
table.fold th, table.fold td { padding-right: .7rem; overflow-wrap: break-word; }
table.fold td ol { margin: 0; padding-left: 1.2rem; }
table.fold td:first-child { min-width: 0; overflow-wrap: anywhere; white-space: normal; }
table.fold .w1 { width: 8%; } table.fold .w2 { width: 12%; } table.fold .w3 { width: 14%; }
table.fold .w4 { width: 24%; } table.fold .w5 { width: 26%; } table.fold .w6 { width: 36%; }
table.matrix th, table.matrix td { text-align: center; padding: .22rem .45rem; }
table.matrix th:first-child, table.matrix td:first-child { text-align: left; padding-left: 0; min-width: 9rem; }
table.matrix th { white-space: nowrap; }
.mark { width: .8em; height: .8em; vertical-align: -.05em; overflow: visible; fill: none; stroke: var(--ink); stroke-width: 1.4; }
.mark .solid { fill: var(--ink); }
.legend { display: flex; flex-wrap: wrap; gap: .25rem 1.5rem; font-size: .875rem; margin: .5rem 0 1rem; padding: 0; list-style: none; }
.tree { margin: .6rem 0 .8rem; font-size: .9375rem; line-height: 1.4; }
.tree ul { list-style: none; margin: 0 0 0 .34em; padding: .15em 0; }
.tree li { position: relative; margin: 0; padding: .18em 0 .18em 1.5em; }
.tree li::before { content: ""; position: absolute; left: 0; top: .93em; width: 1.05em; border-top: 1.4px solid var(--ink); }
.tree li::after { content: ""; position: absolute; left: 0; top: -.15em; bottom: -.15em; border-left: 1.4px solid var(--ink); }
.tree ul.all > li::after { border-left: 4px double var(--ink); }
.tree li:last-child::after { bottom: auto; height: 1.15em; }
.tree .gate { font-family: "Helvetica Neue", Arial, "Liberation Sans", sans-serif; font-size: .8125em; font-weight: 700; }
.sets { font-size: .9375rem; margin: 0 0 .25rem; }
.sets b { font-family: "Helvetica Neue", Arial, "Liberation Sans", sans-serif; font-size: .875em; }
@media (max-width: 44rem) {
  table.fold, table.fold tbody, table.fold tr, table.fold td { display: block; width: auto; }
  table.fold thead { display: none; }
  table.fold tr { border-top: 1px solid var(--ink); padding: .45rem 0 .6rem; }
  table.fold td { border: 0; padding: .08rem 0; font-size: .9375rem; }
  table.fold td[data-label]::before { content: attr(data-label) ": "; color: var(--soft); font-size: .875rem; }
  table.fold td:empty { display: none; }
  table.matrix td:first-child, table.matrix th:first-child { min-width: 7.5rem; }
}
@media print {
  h3 { font-size: 10.5pt; margin-top: 6mm; break-after: avoid; }
  table.fold, table.fold th { font-size: 8pt; }
  .tree, .sets, .held, .legend, ul.plain ul { font-size: 9.5pt; }
  .tree, .tree li, .hazard, ul.plain ul li { break-inside: avoid; }
}
`;
