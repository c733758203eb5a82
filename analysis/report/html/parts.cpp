#include "analysis/report/html/parts.hpp"

namespace dropledger::report::html {

namespace {

constexpr std::string_view style_sheet_text = R"css(
:root { color-scheme: light dark; --ink: #000; --paper: #fff; --soft: rgba(0,0,0,.66); --rule: rgba(0,0,0,.3);
  --faint: rgba(0,0,0,.13); --one: rgba(0,0,0,.34); --few: #D55E00; --many: #0072B2; --good: #009E73; --open: #E69F00; }
@media screen and (prefers-color-scheme: dark) { :root { --ink: #fff; --paper: #000; --soft: rgba(255,255,255,.72);
  --rule: rgba(255,255,255,.36); --faint: rgba(255,255,255,.17); --one: rgba(255,255,255,.42); --many: #56B4E9; } }
* { box-sizing: border-box; }
html { background: var(--paper); color: var(--ink); -webkit-text-size-adjust: 100%; text-size-adjust: 100%; }
body { margin: 0 auto; max-width: 61rem; padding: 1.6rem 1.1rem 4rem; font: 1.02rem/1.5 Charter, "Bitstream Charter",
  "Source Serif 4", Palatino, "Palatino Linotype", Georgia, "DejaVu Serif", serif; overflow-wrap: break-word; }
h1, h2, h3 { font-weight: 600; line-height: 1.2; text-wrap: balance; }
h1 { font-size: clamp(1.9rem, 7vw, 2.9rem); margin: .2rem 0 .4rem; letter-spacing: -.01em; }
h2 { font-size: 1.5rem; margin: 3rem 0 .6rem; padding-top: .7rem; border-top: 2px solid var(--ink); }
h3 { font-size: 1.08rem; margin: 2rem 0 .5rem; }
h3 .sec, .ref { font-weight: 400; font-size: .84rem; color: var(--soft); }
p { margin: .5rem 0; max-width: 44rem; }
ul { margin: .4rem 0; padding-left: 1.2rem; max-width: 46rem; } li { margin: .25rem 0; }
a { color: inherit; text-decoration-thickness: 1px; text-underline-offset: .15em; }
.kind { margin: 0; letter-spacing: .04em; color: var(--soft); }
.lead { font-size: 1.18rem; line-height: 1.42; max-width: 42rem; }
.cap { font-size: .87rem; color: var(--soft); margin: .1rem 0 .8rem; }
pre { overflow-x: auto; font: .87rem/1.4 "DejaVu Sans Mono", monospace; }
.box { border: 1px solid var(--rule); padding: .6rem 1rem; margin: 2rem 0 0; max-width: 46rem; break-inside: avoid; }
.box h3 { margin-top: 0; }
dl.context { display: grid; grid-template-columns: max-content 1fr; gap: .12rem 1rem; margin: 1.1rem 0;
  font-size: .95rem; } dl.context dt { color: var(--soft); } dl.context dd { margin: 0; min-width: 0; overflow-wrap: anywhere; }
table { border-collapse: collapse; border-top: 1.5px solid var(--ink); border-bottom: 1.5px solid var(--ink);
  font-variant-numeric: tabular-nums lining-nums; margin: .5rem 0; font-size: .95rem; }
th { font-weight: 400; color: var(--soft); text-align: left; font-size: .87rem; vertical-align: bottom; }
th, td { padding: .28rem .9rem .28rem 0; border-top: 1px solid var(--faint); vertical-align: top; }
thead th { border-top: 0; } thead th.n { white-space: normal; } th:last-child, td:last-child { padding-right: 0; }
tbody th { color: var(--ink); font-size: inherit; } tbody th small, td small { display: block; color: var(--soft); font-size: .8rem; }
.n { text-align: right; white-space: nowrap; } table.full { width: 100%; }
.ledger { display: flex; flex-wrap: wrap; gap: .15rem 1.5rem; width: fit-content; max-width: 100%; margin: .5rem 0; padding: .3rem 0;
  border-top: 1.5px solid var(--ink); border-bottom: 1.5px solid var(--ink); font-variant-numeric: tabular-nums lining-nums; }
.ledger div { text-align: right; } .ledger dt { color: var(--soft); font-size: .87rem; } .ledger dd { margin: 0; }
.identity { font-variant-numeric: tabular-nums; margin: .15rem 0; } .identity::before { content: "\2261\00a0\00a0"; }
.criterion { display: grid; grid-template-columns: minmax(0, 1fr) minmax(0, 1.15fr); gap: .2rem 1.6rem; padding: .6rem 0;
  border-top: 1px solid var(--faint); break-inside: avoid; } .criterion p { margin: .1rem 0; }
.criterion h4 { margin: 0; font-size: 1rem; font-weight: 600; } .criterion .said { font-weight: 400; }
.said { border: 1px solid currentColor; padding: 0 .38em; margin-left: .3em; white-space: nowrap; font-size: .86em; }
.said.outside { border-width: 2px; font-weight: 600; } .said.undecided { border-style: dashed; }
.plot { padding: 26px 12px 46px 44px; max-width: 46rem; break-inside: avoid; } .plot.tall { padding-top: 44px; }
.plot.slim { padding: 22px 26px 24px 8px; } .plot > svg { display: block; overflow: visible; } .in { overflow: visible; }
svg text { font: 12px/1 Charter, "Bitstream Charter", Palatino, Georgia, "DejaVu Serif", serif; fill: var(--ink);
  font-variant-numeric: lining-nums; } svg text.ttl { fill: var(--soft); }
svg .axis { stroke: var(--ink); stroke-width: 1; fill: none; } svg .grid { stroke: var(--faint); }
svg .edge { stroke: var(--ink); stroke-dasharray: 2 3; } svg .limit { stroke: var(--ink); stroke-width: 2.5; }
svg .whisker { stroke: var(--ink); stroke-width: 2; } svg .forbidden { fill: url(#hatch-limit); }
svg .bar { stroke-width: 1; } svg .one { fill: var(--one); stroke: none; } svg .few { fill: url(#hatch-few); stroke: var(--few); }
svg .many { fill: url(#hatch-many); stroke: var(--many); } .solid-few { fill: var(--few); } .solid-many { fill: var(--many); }
svg .within { color: var(--good); } svg .outside { color: var(--few); } svg .undecided { color: var(--open); }
svg .in path { vector-effect: non-scaling-stroke; fill: none; } svg .dot { stroke: var(--many); stroke-width: 3px; stroke-linecap: round; opacity: .55; }
svg .median { stroke: var(--ink); stroke-width: 1.8px; fill: none; } svg .bias { stroke: var(--few); stroke-width: 1.6; stroke-dasharray: 7 4; }
svg .stair { stroke: var(--many); stroke-width: 1.4px; } svg .range { stroke: var(--many); stroke-width: 2; opacity: .7; }
svg .curve { stroke: var(--many); stroke-width: 2.4px; fill: none; } svg .dashed { stroke: var(--few); stroke-dasharray: 9 5; }
svg .dotted { stroke: var(--good); stroke-dasharray: 2 4; }
svg .beyond { color: var(--few); } svg .expected { color: var(--ink); }
.run { display: grid; grid-template-columns: repeat(auto-fill, minmax(min(100%, 24rem), 1fr)); gap: .1rem 1.5rem; margin: .4rem 0; }
.run-row { display: grid; grid-template-columns: 2.9rem 1fr; align-items: center; gap: .5rem; break-inside: avoid; scroll-margin: 30vh; }
.run-row span { font-size: .8rem; text-align: right; font-variant-numeric: tabular-nums; color: var(--soft); }
.run-row svg { display: block; width: 100%; height: auto; } .run-row:target, .run-row.found { outline: 2px solid var(--ink); outline-offset: 1px; }
.rail { stroke: var(--rule); stroke-width: 1; fill: none; vector-effect: non-scaling-stroke; }
.tick { stroke: var(--ink); stroke-width: 1; fill: none; vector-effect: non-scaling-stroke; opacity: .62; }
.m-few { stroke: var(--few); fill: none; stroke-width: 1.6; vector-effect: non-scaling-stroke; }
.m-many { stroke: var(--many); fill: none; stroke-width: 1.6; vector-effect: non-scaling-stroke; }
.keys { display: flex; flex-wrap: wrap; gap: 0 1.6rem; font-size: .87rem; max-width: none; }
.key { display: flex; align-items: center; gap: .5rem; } .key svg { flex: none; }
@media screen and (min-width: 56rem) { .beside { display: grid; grid-template-columns: minmax(0, 1fr) max-content; gap: 0 1.8rem;
  align-items: center; } dl.context { grid-template-columns: max-content 1fr max-content 1fr; } }
.inline { display: block; width: 100%; height: 30px; min-width: 6rem; }
.goto { margin: .6rem 0; font-size: .92rem; } .goto input { font: inherit; width: 6.5em; color: inherit; background: transparent;
  border: 1px solid var(--rule); padding: .3em .4em; } .goto button { font: inherit; color: inherit; background: transparent;
  border: 1px solid var(--ink); padding: .3em .9em; cursor: pointer; } .goto output { margin-left: .6em; }
details { margin: .6rem 0; } summary { cursor: pointer; padding: .3rem 0; }
ol.incidents { list-style: none; padding: 0; margin: .3rem 0; columns: 15rem; column-gap: 2rem; font-size: .87rem;
  font-variant-numeric: tabular-nums; max-width: none; } ol.incidents li { margin: 0; padding: .1rem 0; break-inside: avoid; }
.units td { white-space: nowrap; } .units th a { white-space: nowrap; } .units td:last-child { width: 24%; }
@media screen and (max-width: 48rem) { .units td { white-space: normal; } .units td:last-child { width: auto; }
  body { padding: 1rem .75rem 3rem; } .criterion { grid-template-columns: minmax(0, 1fr); }
  dl.context { grid-template-columns: 5.4rem 1fr; gap: .15rem .7rem; font-size: .88rem; }
  table.stack, table.stack tbody { display: block; } table.stack thead { display: none; }
  table.stack tr { display: flex; flex-wrap: wrap; column-gap: .8rem; border-top: 1px solid var(--faint); padding: .35rem 0; }
  table.stack th, table.stack td { display: block; border: 0; padding: 0; }
  table.stack th:first-child, table.stack .wide { flex: 0 0 100%; } table.stack .n { text-align: left; }
  table.stack .count { margin-left: auto; } table.stack .count::before { content: "n "; color: var(--soft); } }
@media print { @page { size: A4; margin: 16mm 15mm; } html { font-size: 9.4pt; }
  body { max-width: none; padding: 0; } dl.context { grid-template-columns: max-content 1fr max-content 1fr; } .plot { max-width: 125mm; }
  .criterion .plot { max-width: none; } h3 { margin-top: 1.3rem; } .goto { display: none; }
  h2, h3 { break-after: avoid; } h2 { margin-top: 1.6rem; } a { text-decoration: none; } tr, li, .plot, .cap { break-inside: avoid; }
  .run { grid-template-columns: 1fr 1fr; gap: 0 1rem; } * { print-color-adjust: exact; -webkit-print-color-adjust: exact; } }
)css";

constexpr std::string_view shared_symbols_text =
    R"svg(<svg width="0" height="0" style="position:absolute" aria-hidden="true"><defs>
<pattern id="hatch-limit" width="7" height="7" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><path d="M0 0v7" stroke="currentColor" stroke-width="1.6" opacity=".34" /></pattern>
<pattern id="hatch-few" width="5" height="5" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><path d="M1 0v5" stroke="#D55E00" stroke-width="2.6" /></pattern>
<pattern id="hatch-many" width="5" height="5" patternUnits="userSpaceOnUse"><path d="M0 1h5" stroke="#0072B2" stroke-width="2.6" /></pattern>
<g id="drop-none"><circle class="m-few" cx="0" cy="28" r="4.3" /></g>
<g id="drop-some"><path class="m-few" d="M-4.3 26a4.3 4.3 0 0 0 8.6 0" /></g>
<g id="drop-more"><path class="m-many" d="M-2.2 22v-16M2.2 22v-16M-4.4 7l4.4-5l4.4 5" /></g>
<g id="mark-within"><circle r="6" fill="currentColor" stroke="var(--ink)" stroke-width="1.2" /></g>
<g id="mark-outside"><path d="M-6-6h12v12h-12z" fill="currentColor" stroke="var(--ink)" stroke-width="1.2" /></g>
<g id="mark-undecided"><path d="M0-8l8 8l-8 8l-8-8z" fill="var(--paper)" stroke="var(--ink)" stroke-width="1.2" /><path d="M0-4l4 4l-4 4l-4-4z" fill="currentColor" /></g>
<g id="beyond-up"><path d="M0 0l4 7h-8z" fill="currentColor" /></g>
<g id="beyond-down"><path d="M0 0l4-7h-8z" fill="currentColor" /></g>
<g id="expected"><circle r="4" fill="var(--paper)" stroke="currentColor" stroke-width="1.4" /></g>
</defs></svg>
)svg";

constexpr std::string_view script_text = R"js(
document.querySelectorAll('form.goto').forEach(function (form) {
  form.hidden = false;
  form.addEventListener('submit', function (event) {
    event.preventDefault();
    var wanted = Number(form.querySelector('input').value), found = null;
    document.querySelectorAll('.run-row.found').forEach(function (row) { row.classList.remove('found'); });
    form.parentNode.querySelectorAll('.run-row').forEach(function (row) {
      if (wanted >= Number(row.dataset.first)) { if (Number(row.dataset.last) >= wanted) { found = row; } }
    });
    form.querySelector('output').textContent = found ? '' : 'No such drop in this run.';
    if (found) {
      found.classList.add('found');
      found.scrollIntoView({ block: 'center' });
      form.querySelector('output').textContent = found.querySelector('svg').getAttribute('aria-label');
    }
  });
});
)js";

} // namespace

std::string_view style_sheet() {
    return style_sheet_text;
}
std::string_view shared_symbols() {
    return shared_symbols_text;
}
std::string_view script() {
    return script_text;
}

} // namespace dropledger::report::html
