"use strict";
/* Looks at every page and drawing in Chromium: run.js [PART]. ADDRESS, TOKEN, PICTURES: see run.py. */
const fs = require("fs");
const path = require("path");
const {chromium} = require("playwright-core");
const axe = require("axe-core");
const inside = require("./inside.js");
const {places} = require("./places.js");

const {ADDRESS, TOKEN, PICTURES} = process.env;
const SIZES = [{width: 1280, height: 900}, {width: 820, height: 1180}, {width: 320, height: 640}];
const RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa"];
/* Names that break out of carelessly written pages; the long one has no place to break. */
const NAMES = ["<img src=x onerror=\"executed=1\" id=executed>", "O'Brien & \"Sons\" &amp; <b>Co</b>", "\u05db\u05d4\u05df-\u05dc\u05d5\u05d9",
    "\u0639\u0628\u062f \u0627\u0644\u0631\u062d\u0645\u0646", "W".repeat(200), "</title><script>executed=1</script>"];

let passed = 0, failed = 0;
function check(what, faults) {
    faults.length ? failed++ : passed++;
    for (const fault of new Set(faults)) console.log(`  ${what}: ${fault}`);
}

async function api(address, options = {}) {
    const answer = await fetch(ADDRESS + address, {...options, headers: {Authorization: `Bearer ${TOKEN}`, ...options.headers}});
    if (!answer.ok) throw new Error(`${address}: ${answer.status} ${await answer.text()}`);
    return answer;
}
const read = async address => (await (await api(address)).json()).items;

/* A tab that keeps whatever goes wrong in it. */
async function open(browser, script) {
    const context = await browser.newContext({javaScriptEnabled: script, viewport: SIZES[0]});
    const page = await context.newPage();
    page.faults = [];
    page.on("console", m => { if (["error", "warning"].includes(m.type())) page.faults.push(`${m.type()}: ${m.text()}`); });
    page.on("pageerror", e => page.faults.push(`script: ${e.message}`));
    page.on("dialog", d => { page.faults.push(`dialog: ${d.message()}`); d.dismiss(); });
    page.on("request", r => { if (!r.url().startsWith(ADDRESS + "/") && !r.url().startsWith("data:")) page.faults.push(`request to ${r.url()}`); });
    return page;
}

async function signIn(page) {
    await page.goto(`${ADDRESS}/sign-in?next=/`);
    await page.fill("#token", TOKEN);
    await page.click("main button");
    check("signing in", new URL(page.url()).pathname === "/" ? [] : [`ends at ${page.url()}`]);
}

const picture = name => path.join(PICTURES, name);
const shoot = (page, name) => page.screenshot({path: picture(`${name}.png`), fullPage: true});
/* A drawing alone is no HTML, which page.screenshot() waits for in vain. */
async function shootDrawing(page, name) {
    const r = await page.evaluate(() => document.documentElement.getBoundingClientRect().toJSON());
    const session = await page.context().newCDPSession(page);
    const {data} = await session.send("Page.captureScreenshot", {captureBeyondViewport: true,
        clip: {x: r.x, y: r.y, width: r.width, height: r.height, scale: 1}});
    await session.detach();
    fs.writeFileSync(picture(`${name}.png`), data, "base64");
}

async function visit(page, place) {
    page.faults.length = 0;
    const answer = await page.goto(ADDRESS + place.path);
    /* Chromium itself tells of a refused page in its console. */
    page.faults = page.faults.filter(f => place.status === 200 || !f.includes(`the server responded with a status of ${place.status}`));
    const arrived = new URL(page.url());
    return answer.status() === place.status && arrived.pathname + arrived.search === place.path ? []
        : [`${answer.status()} at ${page.url()}`];
}

async function accessible(page) {
    await page.evaluate(axe.source);
    const {violations} = await page.evaluate(rules => axe.run({runOnly: rules, preload: false}), RULES);
    return violations.flatMap(v => v.nodes.map(n => `${v.id}: ${n.html.slice(0, 160)}: ${n.failureSummary.replace(/\s+/g, " ")}`));
}

async function tabbing(page) {
    const faults = [], count = await page.evaluate(inside.stops), seen = [];
    for (let presses = 0; presses < 4 * count + 20 && seen.length < count; presses++) {
        await page.keyboard.press("Tab");
        const at = await page.evaluate(inside.focus);
        if (!at || at.stop === null || at.stop === seen[seen.length - 1]) continue;
        if (seen.length && at.stop === 0) break;
        seen.push(at.stop);
        if (!at.seen) faults.push(`focus that one does not see: ${at.what}`);
    }
    if (seen.join() !== [...Array(count).keys()].join()) faults.push(`Tab reaches ${seen.join()} of ${count} stops`);
    return faults;
}

async function lookAtDrawing(page, place) {
    check(place.name, await visit(page, place));
    for (const scheme of ["light", "dark"]) {
        await page.emulateMedia({colorScheme: scheme});
        check(`${place.name} ${scheme}`, await page.evaluate(inside.drawing));
    }
    check(`${place.name} texts`, await page.evaluate(inside.texts, 8));
    await page.emulateMedia({media: "print", colorScheme: "light"});
    check(`${place.name} print`, await page.evaluate(inside.drawing));
    await page.emulateMedia({media: "screen", colorScheme: "light"});
    await shootDrawing(page, place.name);
    check(`${place.name} console`, page.faults);
}

async function lookAtPaper(page, place) {
    await page.emulateMedia({media: "print", colorScheme: "light"});
    for (const format of ["A4", "Letter"]) {
        const file = picture(`${place.name}-${format}.pdf`), pdf = await page.pdf({path: file, format, preferCSSPageSize: false});
        const pages = pdf.toString("latin1").match(/\/Type\s*\/Page\b(?!s)/g).length;
        if (place.sheet) check(`${place.name} ${format}`, pages === 1 ? [] : [`${pages} pages`]);
    }
    check(`${place.name} print properties`, await page.evaluate(inside.properties));
    await page.emulateMedia({media: "screen", colorScheme: "light"});
}

async function lookAtPage(page, place) {
    check(place.name, await visit(page, place));
    for (const size of place.brief ? [SIZES[1]] : SIZES) {
        await page.setViewportSize(size);
        for (const scheme of place.brief ? ["light"] : ["light", "dark"]) {
            await page.emulateMedia({colorScheme: scheme});
            const name = `${place.name}-${size.width}-${scheme}`;
            check(`${name} axe`, await accessible(page));
            await shoot(page, name);
        }
        const name = `${place.name}-${size.width}`;
        check(`${name} width`, await page.evaluate(inside.overflow));
        check(`${name} texts`, await page.evaluate(inside.texts, 0));
    }
    await page.setViewportSize(SIZES[0]);
    for (const scheme of place.brief ? [] : ["dark", "light"]) {
        await page.emulateMedia({colorScheme: scheme});
        check(`${place.name} ${scheme} properties`, await page.evaluate(inside.properties));
        check(`${place.name} ${scheme} drawings`, await page.evaluate(inside.drawing));
    }
    if (!place.brief) check(`${place.name} tab`, await tabbing(page));
    await lookAtPaper(page, place);
    check(`${place.name} console`, page.faults);
}

/* Says the same to a browser that runs no script. */
async function lookWithoutScript(page, plain, place) {
    check(`${place.name} without script`, await visit(plain, place));
    const [told, toldPlain] = await Promise.all([page, plain].map(p => p.evaluate(inside.told)));
    check(`${place.name} without script`, place.script || told === toldPlain ? [] : ["tells something else"]);
    check(`${place.name} without script: console`, plain.faults);
    const scripts = await page.evaluate(() => document.scripts.length);
    check(`${place.name} script`, scripts && !place.script ? ["has a script"] : []);
}

async function rename(patient, name) {
    const row = await api(`/v1/patients/${patient.id}`);
    await api(`/v1/patients/${patient.id}`, {method: "PATCH", body: JSON.stringify({family_name: name}),
        headers: {"If-Match": row.headers.get("ETag"), "Content-Type": "application/merge-patch+json"}});
}

/* The pages of some patients again, with names that nobody should trust. */
async function lookAtNames(page, found) {
    const patients = [...new Set(found.filter(p => p.patient && !p.drawing).map(p => p.patient))].slice(0, NAMES.length);
    for (const [i, patient] of patients.entries()) await rename(patient, NAMES[i]);
    const pages = patients.flatMap((patient, i) => {
        const his = found.filter(p => p.patient === patient && !p.drawing);
        return [...his.filter(p => !p.sheet), ...his.filter(p => p.sheet).slice(-1)].map(p => ({...p, written: NAMES[i]}));
    });
    const lists = found.filter(p => p.names).flatMap(p => patients.map((_, i) => ({...p, written: NAMES[i]})));
    for (const place of [...pages, ...lists]) {
        const name = `${place.name} as ${JSON.stringify(place.written.slice(0, 12))}`;
        check(name, await visit(page, place));
        check(name, await page.evaluate(inside.named, place.written));
        check(`${name} axe`, await accessible(page));
        for (const size of SIZES) {
            await page.setViewportSize(size);
            check(`${name} ${size.width}`, [...await page.evaluate(inside.overflow), ...await page.evaluate(inside.texts, 0)]);
            await shoot(page, `name-${NAMES.indexOf(place.written)}-${place.name}-${size.width}`);
        }
        await page.setViewportSize(SIZES[0]);
        if (place.sheet) await lookAtPaper(page, {...place, name: `name-${NAMES.indexOf(place.written)}-${place.name}`});
        check(`${name} console`, page.faults);
    }
}

async function main() {
    if (!process.argv[2]) fs.rmSync(PICTURES, {recursive: true, force: true});
    fs.mkdirSync(PICTURES, {recursive: true});
    const part = process.argv[2] || "";
    const found = (await places(read)).filter(p => p.name.includes(part));
    const browser = await chromium.launch({executablePath: process.env.CHROMIUM || "/usr/bin/chromium", args: ["--no-sandbox"]});
    try {
        const page = await open(browser, true), plain = await open(browser, false);
        for (const place of found.filter(p => p.open)) await lookAtPage(page, {...place, name: `${place.name}-open`});
        for (const place of found.filter(p => p.open)) place.brief = true;
        await signIn(page);
        await signIn(plain);
        for (const [i, place] of found.entries()) {
            if (i % 20 === 0) console.log(`  ${i} of ${found.length}: ${place.name} …`);
            if (place.drawing) await lookAtDrawing(page, place);
            else {
                await lookAtPage(page, place);
                if (!place.brief) await lookWithoutScript(page, plain, place);
            }
        }
        await lookAtNames(page, found);
    } finally {
        await browser.close();
    }
    console.log(`${passed} passed, ${failed} failed`);
    return failed === 0 && passed > 0 ? 0 : 1;
}

main().then(code => process.exit(code), error => { console.log(error); console.log(`${passed} passed, ${failed + 1} failed`); process.exit(1); });
