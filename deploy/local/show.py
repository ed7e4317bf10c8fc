#!/usr/bin/python3
"""Evaluates one stored visit over HTTP and prints it for a reader: show.py BASE_URL TOKEN_FILE"""
import json
import sys
import textwrap
import urllib.request

base, token_file = sys.argv[1:3]
token = open(token_file, encoding="ascii").read().strip()


def get(path):
    request = urllib.request.Request(base + path, headers={"Authorization": "Bearer " + token})
    with urllib.request.urlopen(request, timeout=30) as answer:
        return json.load(answer)


def percent(share):
    return "< 0.1 %" if share < 0.001 else f"{100 * share:.1f} %"


def figure(value, digits=2):
    return "–" if value is None else f"{value:.{digits}f}"


def table(head, rows):
    widths = [max(len(row[i]) for row in [head, *rows]) for i in range(len(head))]
    for row in [head, *rows]:
        print("  " + "  ".join(cell.ljust(width) if i == 0 else cell.rjust(width)
                               for i, (cell, width) in enumerate(zip(row, widths))).rstrip())


def screw_row(screw, risk):
    moment = screw.get("axis_moment_nmm")
    turn = "" if moment is None else (" unscrews" if screw.get("unscrewing") else " tightens")
    loss = risk.get("loss")
    return [screw["name"], figure(screw.get("axial_n")), figure(screw.get("lateral_n")), figure(moment, 1) + turn,
            figure(screw.get("cortex", {}).get("peak_stress_mpa"), 0),
            "–" if loss is None else f"{percent(loss['mid'])} ({percent(loss['low'])} … {percent(loss['high'])})"]


def main():
    visits = get("/v1/visits?case_id=019c0000-0001-7000-8000-000000000020&limit=200")["items"]
    visit = max(visits, key=lambda v: v["visited_on"])
    answer = get(f"/v1/visits/{visit['id']}/force-system")
    stability = answer.get("stability", {})
    risks = {screw["name"]: screw for screw in stability.get("screws", [])}
    print(f"Visit of {answer['on']} ({visit['id']})\n")
    table(["screw", "axial N (+ pulls out)", "lateral N", "about its axis N·mm", "bone peak MPa",
           f"loss within {stability.get('horizon_days')} days"],
          [screw_row(screw, risks.get(screw["name"], {})) for screw in answer["screws"]])
    print()
    for segment in answer["segments"]:
        print(f"  {segment['name']}: {segment['movement']}")
    print()
    for finding in answer["findings"]:
        subject = ", ".join(f"{kind} {name}" for kind, name in finding.get("subject", {}).items())
        print("\n".join(textwrap.wrap(f"{finding['severity']}, {subject}: {finding['message']}", 110,
                                      initial_indent="  ", subsequent_indent="    ")))
    if not answer["findings"]:
        print("  No findings.")
    print(f"\nThe same with curl (the token is in {token_file}):\n")
    print(f"  curl -H \"Authorization: Bearer $(cat {token_file})\" {base}/v1/visits/{visit['id']}/force-system")


if __name__ == "__main__":
    main()
