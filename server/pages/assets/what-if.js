/* Shows the variant while one types: the visit's document is changed as the form says, posted, and what comes back takes
 * the place of what the page came with. Without this script the form asks the server for the whole page. */
"use strict";
(() => {
    const form = document.querySelector("form.what-if"), fields = [...form.elements].filter((f) => f.name);
    const at = (id) => document.getElementById(id), named = (name) => fields.find((f) => f.name === name);
    const rows = [...document.querySelectorAll("tr[data-list]")], days = named("days"), seen = named("seen");
    let recorded, running = new AbortController(), timer;

    const make = (tag, kind, ...inside) => {
        const node = document.createElement(tag);
        node.className = kind;
        node.append(...inside);
        return node;
    };
    /* ---- the changed document, by the rules of the server */
    const json = (text) => { try { return JSON.parse(text); } catch { return text; } };
    const moved = (f) => /^[-+.\deE]+$/.test(f.value) && isFinite(f.value) ? +f.dataset.from + +f.value : f.value;
    const isAsked = (f) => f.type === "checkbox" ? f.checked : f.value !== f.dataset.recorded;

    const changed = () => {
        const doc = structuredClone(recorded), out = new Set();
        for (const f of fields) {
            const [, list, i, , n, , axis] = f.name.split("/");
            if (list === "elements" && isAsked(f)) doc.elements[i].force_n = json(f.value);
            if (list === "screws" && f.checked) out.add(doc.screws[i].name);
            if (list !== "plates" || axis !== "0") continue;
            const three = [0, 1, 2].map((k) => named(f.name.slice(0, -1) + k));
            if (three.some(isAsked)) doc.plates[i].nodes[n].at_mm = three.map(moved);
        }
        for (const plate of doc.plates ?? []) plate.seats = plate.seats.filter((seat) => !out.has(seat.screw));
        if (out.size > 0) doc.screws = doc.screws.filter((screw) => !out.has(screw.name));
        if (+days.value > 0) doc.on = new Date(Date.parse(form.dataset.on) + 864e5 * days.value).toISOString().slice(0, 10);
        return doc;
    };
    /* ---- faults, each at its field */
    const isAbout = (pointer, name) => `${pointer}/`.startsWith(`${name}/`) || pointer === name.slice(0, Math.max(0, name.lastIndexOf("/")));
    const showFaults = (faults) => {
        for (const f of fields.filter((one) => one.type === "number")) {
            const i = faults.findIndex(({pointer: p}) => p && isAbout(p, f.name));
            const [fault] = i < 0 ? [] : faults.splice(i, 1);
            at(f.id.replace("asked", "fault")).textContent = fault?.detail ?? "";
            fault ? f.setAttribute("aria-invalid", "true") : f.removeAttribute("aria-invalid");
        }
        at("faults").replaceChildren(...faults.map((e) => make("p", "", make("code", "", e.pointer ?? ""), ` ${e.detail}`)));
    };
    /* ---- figures */
    const number = (value, digits) => value.toLocaleString("en", {maximumSignificantDigits: digits, useGrouping: false}).replace("-", "−");
    const step = (value, path) => path.split("/").reduce((v, name) => v?.[name], value);
    const middle = (v) => Array.isArray(v) ? Math.hypot(...v) : v?.mid ?? v;

    const showFigure = (row, answer) => {
        const [, before, after, difference] = row.cells, {list, name, member, unit, scale, digits} = row.dataset;
        const item = step(answer, list).find((o) => o.name === name), value = item && step(item, member);
        const tell = (v, n) => `${number(scale * v, n)}\u00a0${unit}`;
        if (member === "movement") {
            after.textContent = value ?? "–";
            difference.replaceChildren(value === before.textContent ? "same" : make("strong", "", "other"));
            return;
        }
        const old = before.querySelector("data"), mid = middle(value), by = old && mid !== undefined ? mid - old.value : NaN;
        after.replaceChildren(mid === undefined ? "–" : Object.assign(make("data", "", tell(mid, digits)), {value: +mid.toPrecision(12)}));
        if (value?.low !== undefined)
            after.append(" ", make("span", "quiet", `(${number(scale * value.low, digits)} to ${number(scale * value.high, digits)})`));
        const same = !(Math.abs(by) > 0.001 * Math.max(Math.abs(mid), Math.abs(old?.value)));
        difference.replaceChildren(!item ? "left out" : isNaN(by) ? "–" : same ? "same" :
            make("strong", "", `${by > 0 ? "▲ up" : "▼ down"} ${tell(Math.abs(by), 2)}`));
    };
    /* ---- findings */
    const signs = {stop: "■ Stop", caution: "▲ Caution", note: "● Note"};
    const showFindings = (findings) => {
        const before = [...document.querySelectorAll(".findings:not([id]) > li")], known = new Set(before.map((li) => li.dataset.key));
        const list = Object.keys(signs).flatMap((severity) => findings.filter((f) => f.severity === severity)).map((f) => {
            const name = Object.values(f.subject ?? {})[0], li = make("li", "");
            li.dataset.key = `${f.code} ${f.severity} ${name ?? ""}`;
            if (!known.has(li.dataset.key)) li.className = "new", li.append(make("span", "mark", "new"), " ");
            li.append(make("strong", `severity ${f.severity}`, signs[f.severity]), " ");
            if (name) li.append(make("b", "", make("bdi", "", name), "."), " ");
            li.append(make("span", "", f.message));
            return li;
        });
        const now = new Set(list.map((li) => li.dataset.key));
        for (const gone of before.filter((li) => !now.has(li.dataset.key))) {
            const li = gone.cloneNode(true);
            li.className = "gone";
            li.prepend(make("span", "mark", "gone"), " ");
            list.push(li);
        }
        at("variant-findings").replaceChildren(...list);
    };
    /* ---- the drawing; its rules are the page's */
    const scale = (id) => at(id).querySelector(".legend").dataset.mmPerN;
    const showDrawing = (text) => {
        const plain = text.replace(/<style>[^]*?<\/style>/, "").replaceAll("free-body-", "variant-body-");
        at("variant").replaceChildren(new DOMParser().parseFromString(plain, "image/svg+xml").documentElement);
        at("scales").hidden = scale("variant") === scale("recorded");
    };

    const show = (answer, drawing) => {
        document.body.classList.remove("stale");
        rows.forEach((row) => showFigure(row, answer));
        showFindings(answer.findings);
        showDrawing(drawing);
        at("variant-digest").textContent = answer.digest;
        at("variant-day").textContent = new Date(answer.on).toLocaleDateString("en-GB",
            {day: "numeric", month: "short", year: "numeric", timeZone: "UTC"});
        const told = new Set([...at("sources").querySelectorAll("code")].map((code) => code.textContent));
        for (const [key, citation] of Object.entries(answer.sources))
            if (!told.has(key)) at("sources").append(make("li", "", make("code", "", key), ` ${citation}`));
        const others = rows.filter((row) => row.lastElementChild.textContent !== "same").length;
        at("said").textContent = `Variant shown: ${others} of ${rows.length} figures differ.`;
    };
    /* ---- asking */
    const fail = (why) => {
        at("said").textContent = `${why}; shown is the last one before it.`;
        document.body.classList.add("stale");
    };
    const post = (accept, body) => fetch(`/v1/mechanics/evaluate${accept === "image/svg+xml" ? `?view=${seen.value}` : ""}`,
        {method: "POST", headers: {"Content-Type": "application/json", Accept: accept}, body, signal: running.signal});
    const ask = async () => {
        running.abort();
        const {signal} = running = new AbortController();
        try {
            recorded ??= await (await fetch(`/v1/visits/${form.dataset.visit}/mechanics-document`, {signal})).json();
            const body = JSON.stringify(changed());
            const [answer, drawing] = await Promise.all([post("application/json", body), post("image/svg+xml", body)]);
            const told = await answer.json(), svg = await drawing.text();
            if (signal.aborted) return;
            showFaults(answer.ok ? [] : told.errors ?? [{detail: told.detail ?? told.title}]);
            answer.ok ? show(told, svg) : fail("This variant is refused");
        } catch (error) {
            if (error.name !== "AbortError") fail("The server does not answer");
        }
    };

    const listen = (event) => {
        clearTimeout(timer);
        if (event?.target === seen) return form.submit();
        for (const f of form.querySelectorAll("[name$=force_n]"))
            f.closest(".asked").querySelector(".gf").textContent = f.value ? `${number(f.value / 0.00980665, 3)} gf` : "";
        const late = !/^\d+$/.test(days.value) || +days.value > 3650;
        if (!late) return void (timer = setTimeout(ask, 250));
        running.abort();
        showFaults([{pointer: "days", detail: "expected a whole number of days from 0 to 3650"}]);
        fail("This variant is refused");
    };
    form.addEventListener("input", listen);
    if (fields.some((f) => f.type === "checkbox" ? f.checked !== f.defaultChecked : f.value !== (f.defaultValue ?? f.value))) listen();
})();
