"""How the report looks and what it does when touched: plain CSS and a little plain JavaScript, nothing fetched."""

from __future__ import annotations

__all__ = ["SCRIPT", "STYLE"]

STYLE = """
:root{--ink:#26211c;--soft:#675d52;--line:#cfc5b6;--wash:#f6f2ea;--bad:#a3201a;--warn:#8a5a00;--mark:#b3261e}
*{box-sizing:border-box}
html{-webkit-text-size-adjust:100%;text-size-adjust:100%}
body{margin:0 auto;max-width:66rem;padding:1rem;color:var(--ink);background:#fff;font:1rem/1.45 system-ui,"Segoe UI",Roboto,"DejaVu Sans",sans-serif}
h1{font-size:1.7rem;line-height:1.2;margin:.2rem 0}
h2{font-size:1.3rem;margin:2.2rem 0 .6rem;padding-top:.5rem;border-top:3px solid var(--ink)}
h3{font-size:1.05rem;margin:1.5rem 0 .4rem}
h4{font-size:1rem;margin:1rem 0 .3rem}
p,ul,ol{margin:.4rem 0}
a{color:#1c4f82}
nav ul{list-style:none;padding:0;display:flex;flex-wrap:wrap;gap:.3rem 1rem}
nav a{display:inline-block;padding:.35rem 0}
table{border-collapse:collapse;width:100%;font-size:.92rem}
caption{text-align:left;color:var(--soft);padding:.2rem 0}
th,td{text-align:left;vertical-align:top;padding:.3rem .6rem .3rem 0;border-bottom:1px solid var(--line)}
th{border-bottom:2px solid var(--ink)}
td.n,th.n{font-variant-numeric:tabular-nums;white-space:nowrap}
.many td.n,.many th.n{white-space:normal}
@media screen and (min-width:44rem){.legend td:last-child{width:40%}}
.said{min-height:3.1em;background:var(--wash);padding:.5rem .7rem;margin:.4rem 0;border-left:4px solid var(--ink)}
.findings{padding-left:1.6rem}
.findings li{margin:.6rem 0;padding-left:.3rem}
.severity{font-weight:700}
.error .severity{color:var(--bad)}
.warning .severity{color:var(--warn)}
.where{color:var(--soft)}
.tabs{display:flex;flex-wrap:wrap;gap:.3rem;margin:.5rem 0}
.tabs button{font:inherit;padding:.5rem .9rem;border:1px solid var(--ink);border-radius:.3rem;background:#fff;color:var(--ink);cursor:pointer}
.tabs button[aria-selected=true]{background:var(--ink);color:#fff}
.view{margin:0}
.view[hidden]{display:none}
button.tag{font:inherit;font-weight:700;min-width:2.6rem;padding:.2rem .4rem;border:1px solid var(--line);border-radius:.3rem;background:#fff;color:inherit;cursor:pointer}
tr.on td{background:#fdeecb}
:focus-visible{outline:3px solid #1c4f82;outline-offset:2px}
svg.plan{display:block;width:100%;height:auto;max-height:82vh;background:#fff;--k:1}
svg.plan text{font-family:inherit;font-size:calc(var(--u)*var(--k));text-anchor:middle;dominant-baseline:central;fill:var(--ink)}
svg.plan .scale{text-anchor:start;font-size:calc(var(--u)*.8)}
svg.plan .front{font-weight:700}
svg.plan path,svg.plan rect,svg.plan circle{vector-effect:non-scaling-stroke}
.wood{fill:#ead9ba;stroke:#574a3c;stroke-width:1.2}
.stock{fill:#fff;stroke:#574a3c;stroke-width:1.2}
.gone{fill:#75634f;stroke:#574a3c;stroke-width:1;stroke-dasharray:6 4}
.hidden{fill:none;stroke:none}
.blank{fill:none;stroke:#574a3c;stroke-width:1;stroke-dasharray:6 4}
.cut{stroke:#26211c;stroke-width:.8}
.keep{fill:#fff;fill-opacity:.6;stroke:#26211c;stroke-width:1;stroke-dasharray:2 3}
.cross,.start{fill:none;stroke:#26211c;stroke-width:.8}
.halo{fill:none;stroke:#fff;stroke-width:3}
.bar{fill:#26211c}
.item{cursor:pointer;outline:none}
.item path{stroke-width:1.2}
.item .body{fill:#fffdf6;fill-opacity:.72;stroke:#26211c}
.item .bored{fill:#fffdf6;fill-opacity:.9;stroke:#26211c}
.item .room{fill:#fffdf6;fill-opacity:.25;stroke:#574a3c;stroke-dasharray:5 3}
.under .body,.under .bored,.under .room{fill-opacity:0;stroke:#574a3c;stroke-dasharray:4 3;stroke-width:.8}
.item:hover path,.item.on path,.item:focus-visible path{stroke:#1c4f82;stroke-width:3;stroke-dasharray:none}
.item:hover .body,.item.on .body,.item:focus-visible .body{fill:#fdeecb;fill-opacity:.85}
.plan .tag{font-weight:700;pointer-events:none;paint-order:stroke;stroke:#fff;stroke-width:3px;vector-effect:non-scaling-stroke;stroke-linejoin:round}
.spot,.found{pointer-events:none}
.spot path{fill:none;stroke:var(--mark);stroke-width:2}
.spot circle{fill:#fff;stroke:var(--mark);stroke-width:1.6}
.plan .spot text,.plan .found text{font-weight:700;fill:var(--mark);font-size:var(--u)}
.found rect{fill:#fff;stroke:var(--mark);stroke-width:1.6}
footer{margin-top:3rem;color:var(--soft);font-size:.9rem}
@media screen and (min-width:44rem){svg.plan{--k:.8}}
@media screen and (max-width:43.99rem){
.stack thead{position:absolute;clip-path:inset(50%);width:1px;height:1px;overflow:hidden}
.stack,.stack tbody,.stack tr{display:block}
.stack tr{padding:.4rem 0;border-bottom:1px solid var(--line)}
.stack td{display:inline;border:0;padding:0 .8rem 0 0}
.stack td.w{display:block}
.stack td[data-h]::before{content:attr(data-h) " ";color:var(--soft);font-size:.85em}
.stack td.n,.many td.n{display:inline-block}
.stack caption{display:block}
}
@page{margin:12mm}
@media print{
.legend td:last-child{width:40%}
body{max-width:none;padding:0;font-size:9.5pt}
nav,.tabs,.said,.touch{display:none}
.view[hidden]{display:block}
.view{break-inside:avoid;margin-bottom:4mm}
.tray,.cut-list{break-before:page}
svg.plan{--k:.8;max-height:102mm}
h2,h3,h4{break-after:avoid}
tr,li,.drill{break-inside:avoid}
table{font-size:8.5pt}
thead{display:table-header-group}
a{color:inherit;text-decoration:none}
button.tag{border:0;padding:0;min-width:0}
tr.on td{background:none}
.plan *{print-color-adjust:exact;-webkit-print-color-adjust:exact}
}
"""

SCRIPT = """
"use strict";
for (const tray of document.querySelectorAll(".tray")) {
  const said = tray.querySelector(".said"), home = said.textContent;
  const things = [...tray.querySelectorAll("[data-id]")];
  let kept = null;
  const show = id => {
    const first = things.find(thing => thing.dataset.id === id && thing.hasAttribute("aria-label"));
    said.textContent = first ? first.getAttribute("aria-label") : home;
    for (const thing of things) thing.classList.toggle("on", thing.dataset.id === id);
  };
  const keep = id => { kept = kept === id ? null : id; show(kept); };
  for (const item of tray.querySelectorAll(".item")) {
    const id = item.dataset.id;
    item.addEventListener("pointerenter", event => { if (event.pointerType !== "touch") show(id); });
    item.addEventListener("pointerleave", event => { if (event.pointerType !== "touch") show(kept); });
    item.addEventListener("focus", () => show(id));
    item.addEventListener("blur", () => show(kept));
    item.addEventListener("click", () => keep(id));
    item.addEventListener("keydown", event => {
      if (event.key === "Enter" || event.key === " ") { event.preventDefault(); keep(id); }
    });
  }
  for (const button of tray.querySelectorAll("button.tag"))
    button.addEventListener("click", () => { keep(button.dataset.show); if (kept) said.scrollIntoView({block: "nearest"}); });
  const views = [...tray.querySelectorAll(".view")];
  if (views.length < 2) continue;
  const tabs = document.createElement("div");
  tabs.className = "tabs";
  tabs.setAttribute("role", "tablist");
  tabs.setAttribute("aria-label", "Drawings of this tray");
  const choose = (at, focus) => views.forEach((view, k) => {
    view.hidden = k !== at;
    const tab = tabs.children[k];
    tab.setAttribute("aria-selected", String(k === at));
    tab.tabIndex = k === at ? 0 : -1;
    if (focus && k === at) tab.focus();
  });
  views.forEach((view, k) => {
    const tab = document.createElement("button");
    tab.type = "button";
    tab.id = view.id + "-tab";
    tab.textContent = view.dataset.tab;
    tab.setAttribute("role", "tab");
    tab.setAttribute("aria-controls", view.id);
    view.setAttribute("role", "tabpanel");
    view.setAttribute("aria-labelledby", tab.id);
    tab.addEventListener("click", () => choose(k, false));
    tab.addEventListener("keydown", event => {
      const step = {ArrowRight: 1, ArrowLeft: -1}[event.key];
      if (step) { event.preventDefault(); choose((k + step + views.length) % views.length, true); }
    });
    tabs.append(tab);
  });
  views[0].before(tabs);
  choose(0, false);
}
"""
