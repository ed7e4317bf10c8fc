"use strict";
/* Looked at from inside the page. Each function stands alone, for it is sent there as text; it answers with faults in words. */

/* Nothing wider than the window, nothing cut off. */
function overflow() {
    const faults = [], root = document.documentElement, wide = root.scrollWidth - root.clientWidth;
    if (wide > 0) {
        const out = [...document.querySelectorAll("body *")].filter(e => e.getBoundingClientRect().right > root.clientWidth + 1);
        faults.push(`${wide} px wider than the window: ${out.slice(-1).map(e => e.outerHTML.slice(0, 120))}`);
    }
    for (const e of document.querySelectorAll("body *:not(svg):not(svg *)"))
        if (!e.matches(".unseen") && /hidden|clip/.test(getComputedStyle(e).overflowX) && e.scrollWidth > e.clientWidth + 1)
            faults.push(`cut off: ${e.outerHTML.slice(0, 120)}`);
    return faults;
}

/* No text on another, every text of a drawing within it and large enough, `smallest` px. */
function texts(smallest) {
    const faults = [], boxes = [];
    const add = (what, r, size) => {
        /* Lines are set as close as their letters allow: what counts is the body of the letters. */
        const x = r.height > r.width ? size * .25 : 0, y = r.height > r.width ? 0 : size * .25;
        if (r.width > 2 && r.height > 2) boxes.push({what, l: r.left + x, r: r.right - x, t: r.top + y, b: r.bottom - y});
    };
    const clipped = (r, e) => {
        let {left, right, top, bottom} = r;
        for (; e; e = e.parentElement)
            if (getComputedStyle(e).overflowX !== "visible") {
                const c = e.getBoundingClientRect();
                left = Math.max(left, c.left); right = Math.min(right, c.right);
                top = Math.max(top, c.top); bottom = Math.min(bottom, c.bottom);
            }
        return {left, right, top, bottom, width: right - left, height: bottom - top};
    };
    for (const text of document.querySelectorAll("svg text")) {
        const r = text.getBoundingClientRect(), what = text.textContent.trim();
        if (!what || !text.checkVisibility()) continue;
        const svg = text.closest("svg:not(svg svg)"), frame = svg.getBoundingClientRect();
        const size = parseFloat(getComputedStyle(text).fontSize) * Math.abs(text.getScreenCTM().a || text.getScreenCTM().b);
        if (r.left < frame.left - .5 || r.right > frame.right + .5 || r.top < frame.top - .5 || r.bottom > frame.bottom + .5)
            faults.push(`outside of its drawing: "${what}"`);
        if (size < smallest) faults.push(`${size.toFixed(1)} px small: "${what}"`);
        add(what, clipped(r, svg.parentElement), size);
    }
    const walk = document.createTreeWalker(document.body || document.documentElement, NodeFilter.SHOW_TEXT);
    while (walk.nextNode()) {
        const node = walk.currentNode, e = node.parentElement;
        if (!node.data.trim() || e.closest("svg, option, select, .skip, noscript, script, style") || !e.checkVisibility()) continue;
        const range = document.createRange();
        range.selectNodeContents(node);
        for (const r of range.getClientRects())
            add(node.data.trim().slice(0, 60), clipped(r, e), parseFloat(getComputedStyle(e).fontSize));
    }
    boxes.sort((a, b) => a.t - b.t);
    for (let i = 0; i < boxes.length; i++)
        for (let j = i + 1; j < boxes.length && boxes[j].t < boxes[i].b; j++) {
            const a = boxes[i], b = boxes[j];
            if (a.l + 1 < b.r && b.l + 1 < a.r && a.t + .5 < b.b && b.t + .5 < a.b) faults.push(`"${a.what}" lies on "${b.what}"`);
        }
    return faults;
}

/* A drawing says in words what it is, and each of its texts stands out from its ground by 4.5 to 1. */
function drawing() {
    const faults = [];
    const light = colour => {
        const c = colour.match(/[\d.]+/g).slice(0, 3).map(v => v / 255).map(v => v <= .04045 ? v / 12.92 : ((v + .055) / 1.055) ** 2.4);
        return .2126 * c[0] + .7152 * c[1] + .0722 * c[2];
    };
    for (const svg of document.querySelectorAll("svg:not(svg svg)")) {
        for (const name of ["title", "desc"])
            if (!svg.querySelector(`:scope > ${name}`)?.textContent.trim()) faults.push(`a drawing without ${name}`);
        const named = (svg.getAttribute("aria-labelledby") || "").split(" ").filter(Boolean);
        if (svg.getAttribute("role") !== "img" || !named.length || !named.every(id => document.getElementById(id)))
            faults.push("a drawing that is no named image");
        const ground = light(getComputedStyle(svg).backgroundColor);
        for (const text of svg.querySelectorAll("text")) {
            const ink = light(getComputedStyle(text).fill), ratio = (Math.max(ink, ground) + .05) / (Math.min(ink, ground) + .05);
            if (ratio < 4.5) faults.push(`contrast ${ratio.toFixed(2)}: "${text.textContent}"`);
        }
    }
    return faults;
}

/* The properties that texts and lines take their colours from: 4.5 to 1 for letters, 3 to 1 for marks (WCAG 2.1, 1.4.3 and
 * 1.4.11). */
function properties() {
    const LETTERS = {paper: ["ink", "quiet", "force", "moment", "good", "caution", "stop", "teeth", "load", "accent"],
        ground: ["ink", "quiet", "accent", "stop"], soft: ["ink", "accent"],
        tooth: ["ink", "quiet"], moved: ["ink"]};
    const MARKS = {paper: ["screw", "metal", "quiet"]};
    const probe = document.body.appendChild(document.createElement("i"));
    const light = name => {
        probe.style.color = `var(--${name})`;
        const c = getComputedStyle(probe).color.match(/[\d.]+/g).slice(0, 3)
            .map(v => v / 255).map(v => v <= .04045 ? v / 12.92 : ((v + .055) / 1.055) ** 2.4);
        return .2126 * c[0] + .7152 * c[1] + .0722 * c[2];
    };
    const faults = [];
    for (const [pairs, least] of [[LETTERS, 4.5], [MARKS, 3]])
        for (const [ground, names] of Object.entries(pairs))
            for (const name of names) {
                const a = light(name), b = light(ground), ratio = (Math.max(a, b) + .05) / (Math.min(a, b) + .05);
                if (!(ratio >= least)) faults.push(`--${name} on --${ground}: ${ratio.toFixed(2)}`);
            }
    probe.remove();
    return faults;
}

/* What Tab has to reach, in the order of the document, each marked by its number. */
function stops() {
    const wanted = [...document.querySelectorAll("a[href], button, input, select, textarea, summary, [tabindex]")]
        .filter(e => e.tabIndex >= 0 && !e.disabled && e.type !== "hidden" && !e.closest("svg") && e.checkVisibility());
    wanted.forEach((e, i) => { e.dataset.stop = i; });
    return wanted.length;
}

/* Where the focus is, and whether one sees it. */
function focus() {
    const e = document.activeElement;
    if (!e || e === document.body) return null;
    const style = getComputedStyle(e), r = e.getBoundingClientRect();
    const marked = style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2;
    const there = r.bottom > 0 && r.right > 0 && r.top < innerHeight && r.left < innerWidth;
    return {stop: e.dataset.stop === undefined ? null : Number(e.dataset.stop), seen: marked && there, what: e.outerHTML.slice(0, 120)};
}

/* A name stands there as it was given, apart from the writing around it. */
function named(name) {
    const faults = [], plain = text => text.replace(/\s+/g, " ");
    const walk = document.createTreeWalker(document.querySelector("main"), NodeFilter.SHOW_TEXT);
    let found = 0;
    while (walk.nextNode()) {
        if (!plain(walk.currentNode.data).includes(plain(name))) continue;
        found++;
        if (!walk.currentNode.parentElement.closest("bdi, [dir=auto]")) faults.push("a name that may turn the writing around it");
    }
    if (!found) faults.push("the name is not there as it was given");
    if (window.executed || document.querySelector("#executed")) faults.push("the name was executed");
    return faults;
}

/* All that one reads; the number that a request has of its own is no part of it. */
function told() {
    return document.body.innerText.replace(/(?<=request )\S+/g, "…");
}

module.exports = {overflow, texts, drawing, properties, stops, focus, named, told};
