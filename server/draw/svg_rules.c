#include "svg.h"

/* Nothing is told by colour alone: forces are solid and filled, moments arcs, limits dashed, what was
 * expected a band, what was measured dots. */
const char hfd_svg_rules[] =
    ":root{--ink:#1d2733;--quiet:#5b6776;--paper:#fff;--line:#c9d1da;--tooth:#f4f1ea;--moved:#dfe9f2;"
    "--metal:#8a94a0;--force:#0b5cad;--moment:#8a3ffc;--screw:#3d4753;--good:#1a7f4b;--caution:#a15c00;"
    "--stop:#b3261e}"
    "@media (prefers-color-scheme:dark){:root{--ink:#e7ebf0;--quiet:#a7b1bd;--paper:#14181d;--line:#3a444f;"
    "--tooth:#2a2f36;--moved:#24384c;--metal:#9aa4b0;--force:#6db3ff;--moment:#c4a1ff;--screw:#c2cad3;"
    "--good:#5fcf95;--caution:#f0b35c;--stop:#ff8a80}}"
    "@media print{:root{--ink:#000;--quiet:#444;--paper:#fff;--line:#bbb;--tooth:#fff;--moved:#e8e8e8;"
    "--metal:#777;--force:#0b5cad;--moment:#6929c4;--screw:#222;--good:#0f6b3c;--caution:#8a4b00;--stop:#a01810}}"
    ".drawing{background:var(--paper);color:var(--ink);font:12px/1.3 system-ui,sans-serif;max-width:100%;height:auto}"
    ".drawing text{fill:var(--ink)}.drawing .quiet{fill:var(--quiet)}.drawing .small{font-size:10px}"
    ".drawing .strong{font-weight:600}.drawing .middle{text-anchor:middle}.drawing .end{text-anchor:end}"
    ".drawing line,.drawing path{stroke:var(--ink);fill:none;stroke-width:1}"
    ".drawing .axis{stroke:var(--quiet)}.drawing .grid{stroke:var(--line)}"
    ".drawing .limit{stroke:var(--stop);stroke-dasharray:5 3}"
    ".drawing .band{fill:var(--force);fill-opacity:.16;stroke:none}.drawing .curve{stroke:var(--force);stroke-width:2}"
    ".drawing .censor{stroke:var(--force)}.drawing .other{stroke:var(--metal);stroke-dasharray:2 2}"
    ".drawing .expected{stroke:var(--force);stroke-dasharray:6 3}.drawing .goal{stroke:var(--good);stroke-width:1.5;"
    "stroke-dasharray:9 3}.drawing .planned{stroke:var(--quiet);stroke-dasharray:2 3}.drawing .today{stroke:var(--quiet)}"
    ".drawing path.measured{stroke:var(--ink)}.drawing circle.measured{fill:var(--ink)}"
    ".drawing .whisker{stroke:var(--ink);stroke-width:1.5}.drawing .forecast{stroke:var(--ink);stroke-dasharray:1 3}"
    ".drawing .estimate{fill:var(--paper);stroke:var(--ink);stroke-width:1.5}"
    ".drawing .note .mark{fill:var(--quiet)}.drawing .caution .mark{fill:var(--caution)}.drawing .stop .mark{fill:var(--stop)}"
    ".drawing .force .shaft{stroke:var(--force);stroke-width:2}.drawing .force .head{fill:var(--force);stroke:none}"
    ".drawing .moment .shaft{stroke:var(--moment);stroke-width:2}.drawing .moment .head{fill:var(--moment);stroke:none}";
