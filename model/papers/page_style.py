"""The style sheet of the HTML papers."""

from __future__ import annotations

STYLE = """
:root { --ground: #ffffff; --ink: #161616; --dim: #595959; --faint: #d9d9d9; --accent: #00548f;
  --mark: #fff3c4; }
@media (prefers-color-scheme: dark) {
  :root { --ground: #14171a; --ink: #ececec; --dim: #b3b3b3; --faint: #3a4046; --accent: #8accff;
  --mark: #3d3514; }
}
* { box-sizing: border-box; }
html { scroll-padding-top: 11rem; }
body { margin: 0; background: var(--ground); color: var(--ink); font: 1rem/1.4 system-ui, sans-serif; }
header { position: sticky; top: 0; background: var(--ground); border-bottom: 1px solid var(--faint);
  padding: .5rem .8rem 0; z-index: 1; }
h1 { font-size: 1rem; margin: 0 0 .3rem; font-weight: 400; overflow: hidden; text-overflow: ellipsis;
  white-space: nowrap; }
h2 { font-size: 1.25rem; margin: 2rem 0 .2rem; }
h3 { font-size: 1rem; margin: .8rem 0 .2rem; }
main, footer { padding: 0 .8rem; max-width: 80rem; margin: 0 auto; }
a { color: var(--accent); }
:focus-visible { outline: 3px solid var(--accent); outline-offset: 1px; }
.skip { position: absolute; left: -99rem; }
.skip:focus { left: .8rem; top: .5rem; background: var(--ground); padding: .4rem; z-index: 2; }
.search label { font-size: .85rem; color: var(--dim); }
.search input { width: 100%; font: inherit; font-size: 1.15rem; padding: .45rem .6rem; color: var(--ink);
  background: var(--ground); border: 1px solid var(--dim); border-radius: .3rem; }
.search input::placeholder { color: var(--dim); opacity: 1; }
.search { display: flex; flex-wrap: wrap; gap: 0 .8rem; align-items: baseline; }
#hits { margin: 0; font-size: .85rem; color: var(--ink); order: 1; }
.search input { order: 2; margin-bottom: .3rem; }
nav { display: flex; gap: .2rem .9rem; overflow-x: auto; white-space: nowrap; padding-bottom: .4rem; }
nav a { padding: .25rem 0; }
.dim, dt { color: var(--dim); }
dl { display: grid; grid-template-columns: fit-content(38%) 1fr; gap: .1rem .8rem; margin: .2rem 0; }
dd { margin: 0; overflow-wrap: anywhere; }
.wire { border-top: 1px solid var(--faint); padding: .5rem .3rem .6rem; position: relative; }
.wire:target, .wire.here { background: var(--mark); }
.anchor { position: absolute; top: 0; }
.tag { font-family: ui-monospace, "Roboto Mono", monospace; font-weight: 600; }
.wire h3 { margin: 0; display: flex; gap: .6rem; align-items: center; font-weight: 400; }
.wire h3 .tag { font-size: 1.6rem; }
.chip { font-weight: 700; padding: 0 .4rem; border: 1px solid var(--dim); border-radius: .15rem; }
details { margin-top: .3rem; }
summary { cursor: pointer; color: var(--accent); padding: .25rem 0; }
ol { margin: .2rem 0; padding-left: 1.6rem; }
.scroll { overflow-x: auto; }
table { border-collapse: collapse; font-size: .9rem; margin: .6rem 0 1.2rem; }
caption { text-align: left; font-weight: 600; padding: .3rem 0; }
caption span { position: sticky; left: 0; display: inline-block; max-width: calc(100vw - 2rem); }
th:first-child, td:first-child { position: sticky; left: 0; background: var(--ground); }
th { text-align: left; color: var(--dim); font-weight: 600; border-bottom: 1px solid var(--ink);
  vertical-align: bottom; }
th, td { padding: .25rem .7rem .25rem 0; }
td { border-bottom: 1px solid var(--faint); vertical-align: top; }
td.w { min-width: 15rem; }
td.x { min-width: 36rem; }
td.n, th.n { text-align: right; }
figure { margin: .6rem 0; }
figcaption { font-weight: 600; }
svg { display: block; height: auto; max-width: none; stroke: none; fill: none;
  font-family: "Roboto Condensed", "Arial Narrow", sans-serif; }
svg .si { stroke: var(--ink); } svg .sd { stroke: var(--dim); } svg .sf { stroke: var(--faint); }
  svg .sa { stroke: var(--accent); }
svg .pi { fill: var(--ink); } svg .pd { fill: var(--dim); } svg .pf { fill: var(--faint); }
  svg .po { fill: var(--ground); }
svg text { fill: var(--ink); } svg .td { fill: var(--dim); } svg .ta { fill: var(--accent); }
  svg a text { fill: var(--accent); }
svg .b { font-weight: 700; } svg .m { font-family: ui-monospace, "Roboto Mono", monospace; }
svg .h { paint-order: stroke; stroke: var(--ground); stroke-width: 1.2px; }
[hidden] { display: none !important; }
"""
"""Contrast of ink, dim and accent on ground and mark is that of level AA or better (WCAG 2.1)."""
