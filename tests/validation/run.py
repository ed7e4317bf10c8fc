#!/usr/bin/python3
"""Evaluates published worked cases and sets them beside their figures: run.py [--write] DAEMON [TABLE].

With --write the table (api/validation.md) is written, without it is compared with what would be written. Last line:
`N passed, N failed`; a row fails when it is not within what it says, or is within although it is marked as weak.

A case is tests/validation/<topic>-<name>/ with input.json (a mechanics document or {"variants": […]}) and rows.json:
  {"title": "what was set up", "rows": [{
    "source": "who published it", "held": "how the figure is held", "published": "what they found, in words",
    "ours": a value or a list of values, "unit": "mm", "digits": 3,
    "within": [low, high] for each value, or "falling" / "rising" for a list: each at least 2 % of the largest apart,
    "weak": "why ours is known to differ" (such a row must not be within)}]}
A value is a pointer into the answer, as in tests/cases, a number, or one of
  {"sum": [[weight, value], …]}, {"ratio": [value, value]}, {"zero": [[x, value], [x, value]]}: where the line through
  the two points is zero, {"is": [pointer, text]}: 1 when the text stands there, 0 when not."""
import glob
import json
import os
import subprocess
import sys
import tempfile

HERE = os.path.dirname(os.path.abspath(__file__))
ROOT = os.path.dirname(os.path.dirname(HERE))
sys.path.insert(0, os.path.join(ROOT, "tests", "cases"))
from run import find  # noqa: E402

TOPICS = {"centre": "Centres of resistance", "worked": "Line of force, centre and movement", "statics": "Statics of wires",
          "screw": "Screws and plates"}
HEAD = """# Published cases beside ours

Written by `make validation`; do not edit. Each document stands in `tests/validation/` and goes through
`holdfastd evaluate` like any other. Unless a document says otherwise its teeth are the default teeth on the default
arch, so this table tells how far one may come with tooth numbers alone.

**within** is the interval that the row is held to: the published spread where there is one, otherwise the order or the
sign that the source reports, or a width that is a judgement. **weak** marks what the model is known not to give; the
reason stands with it, and such a row must stay outside its interval or lose its mark. **how held**: *read* in the
published page, mostly the abstract; *value from memory*: recalled, not verified; *derived*: statics on the published
inputs.

{rows} rows, {weak} of them weak.
"""


def value_of(expression, answer):
    if isinstance(expression, (int, float)):
        return expression
    if isinstance(expression, str):
        return float(find(answer, expression))
    (kind, parts), = expression.items()
    if kind == "sum":
        return sum(weight * value_of(part, answer) for weight, part in parts)
    if kind == "ratio":
        return value_of(parts[0], answer) / value_of(parts[1], answer)
    if kind == "zero":
        (x0, y0), (x1, y1) = [(x, value_of(part, answer)) for x, part in parts]
        return x0 - y0 * (x1 - x0) / (y1 - y0)
    if kind == "is":
        return float(find(answer, parts[0]) == parts[1])
    raise ValueError(f"unknown kind of value: {kind}")


def is_within(values, within):
    if within in ("falling", "rising"):
        sign, least = (-1 if within == "falling" else 1), 0.02 * max(abs(v) for v in values)
        return len(values) > 1 and all(sign * (b - a) >= least for a, b in zip(values, values[1:]))
    intervals = within if isinstance(within[0], list) else [within] * len(values)
    if len(intervals) != len(values):
        raise ValueError("as many intervals as values")
    return all((low is None or low <= v) and (high is None or v <= high) for v, (low, high) in zip(values, intervals))


def number(value, digits):
    text = f"{value:.{digits}g}"
    return "0" if float(text) == 0 else text.replace("e-0", "e-")


def told(within, unit):
    if isinstance(within, str):
        return within
    if isinstance(within[0], list):
        return "; ".join(told(interval, unit) for interval in within)
    low, high = within
    if low is None:
        return f"at most {high:g}" if high else "negative"
    if high is None:
        return f"at least {low:g}" if low else "positive"
    return f"{low:g} to {high:g}"


def evaluate(daemon, path):
    with tempfile.TemporaryDirectory() as folder:
        env = dict(os.environ, ASAN_OPTIONS=f"log_path={folder}/log", UBSAN_OPTIONS=f"log_path={folder}/log")
        done = subprocess.run([daemon, "evaluate", path], capture_output=True, text=True, timeout=60, env=env)
        if done.returncode != 0 or os.listdir(folder):
            raise RuntimeError(f"exit code {done.returncode}: {done.stderr}")
    return json.loads(done.stdout)


def run_case(daemon, folder):
    """(lines of the table, passed, [faults])"""
    case = json.load(open(os.path.join(folder, "rows.json"), encoding="utf-8"))
    answer = evaluate(daemon, os.path.join(folder, "input.json"))
    lines, passed, faults = [], 0, []
    for row in case["rows"]:
        if set(row) - {"source", "held", "published", "ours", "unit", "digits", "within", "weak"}:
            raise ValueError(f"unknown members in {row}")
        expressions = row["ours"] if isinstance(row["ours"], list) else [row["ours"]]
        values = [value_of(expression, answer) for expression in expressions]
        unit, digits = row.get("unit", ""), row.get("digits", 3)
        ours = ", ".join(number(v, digits) for v in values) + (f" {unit}" if unit else "")
        good = is_within(values, row["within"])
        if good == ("weak" not in row):
            passed += 1
        else:
            faults.append(f"{row['published']}: {ours}, {told(row['within'], unit)}"
                          + (", no longer weak" if good else ""))
        verdict = told(row["within"], unit) + (f"; **weak**: {row['weak']}" if "weak" in row else "")
        lines.append(f"| {row['source']} | {row['published']} | {ours} | {verdict} | {row['held']} |")
    return [f"\n### {case['title']}\n\n`tests/validation/{os.path.basename(folder)}`\n",
            "| source | published | ours | within | how held |", "| --- | --- | --- | --- | --- |", *lines], passed, faults


def main():
    arguments = [a for a in sys.argv[1:] if a != "--write"]
    daemon = os.path.abspath(arguments[0])
    table = arguments[1] if len(arguments) > 1 else os.path.join(ROOT, "api", "validation.md")
    folders = sorted(os.path.dirname(path) for path in glob.glob(os.path.join(HERE, "*", "input.json")))
    text, passed, failed, weak = [HEAD.rstrip("\n")], 0, 0, 0
    unknown = [f for f in folders if os.path.basename(f).split("-")[0] not in TOPICS]
    for topic, title in TOPICS.items():
        of_topic = [f for f in folders if os.path.basename(f).split("-")[0] == topic]
        text += [f"\n## {title}"] if of_topic else []
        for folder in of_topic:
            try:
                lines, good, faults = run_case(daemon, folder)
            except Exception as fault:  # a case that cannot be judged is a failed one, whatever the reason
                lines, good, faults = [], 0, [f"{type(fault).__name__}: {fault}"]
            text += lines
            passed, failed, weak = passed + good, failed + len(faults), weak + sum("**weak**" in line for line in lines)
            print(f"  {os.path.basename(folder)}: {good}")
            for fault in faults:
                print(f"    {fault}")
    for folder in unknown:
        print(f"  {os.path.basename(folder)}: of no known topic")
        failed += 1
    rows = sum(line.startswith("| ") and not line.startswith(("| source |", "| --- |")) for line in text)
    text[0] = text[0].format(rows=rows, weak=weak)
    text = "\n".join(text) + "\n"
    if "--write" in sys.argv[1:]:
        open(table, "w", encoding="utf-8").write(text)
    elif os.path.exists(table) and open(table, encoding="utf-8").read() == text:
        passed += 1
    else:
        print(f"{os.path.relpath(table, ROOT)} is stale: make validation")
        failed += 1
    print(f"{len(folders)} cases, {weak} rows marked as weak")
    print(f"{passed} passed, {failed} failed")
    return 0 if failed == 0 and passed > 0 else 1


if __name__ == "__main__":
    sys.exit(main())
