"""A large clinic as a whole: out, in again, and out as lists, in little memory."""
import datetime
import os
import re
import subprocess
import tempfile
import time

from chart import NUMBERS, Chart
from installation import Clinic, Daemon
from many import people

MIB = 1 << 20


def no_hoard(api):
    """A sanitizer keeps what was freed for a while, far more than is asked for here."""
    options = [api.program.env.get("ASAN_OPTIONS"), "quarantine_size_mb=0", "thread_local_quarantine_size_kb=0"]
    return {"ASAN_OPTIONS": ":".join(filter(None, options))}


def measured(api, *arguments):
    """(seconds, MiB at most, standard error) of another run of the program."""
    begin, high_kib = time.monotonic(), 0
    with tempfile.TemporaryFile() as told:
        process = subprocess.Popen([api.program.binary, *arguments], env={**api.program.env, **no_hoard(api)}, stdout=subprocess.DEVNULL, stderr=told)
        # What the kernel tells at the end has this process's own in it, from before the exec.
        while process.poll() is None:
            found = re.search(r"VmHWM:\s+(\d+)", open(f"/proc/{process.pid}/status").read())
            high_kib = int(found.group(1)) if found else high_kib
            time.sleep(0.02)
        told.seek(0)
        text = told.read().decode()
    assert process.returncode == 0, text
    return time.monotonic() - begin, high_kib / 1024, text


def same_but_for_the_head(one, two):
    with open(one, "rb") as a, open(two, "rb") as b:
        heads = a.readline(), b.readline()
        assert heads[0] != heads[1] and heads[0].startswith(b'{"holdfast"'), heads
        lines = 0
        for x, y in zip(a, b, strict=True):
            assert x == y, (x[:300], y[:300])
            lines += 1
    return lines


def forget_standings(api):
    """Nobody asks how these cases stand: let the daemon not judge thousands of them beside the other tests."""
    api.sql("delete from holdfast.standings s using holdfast.clinics c where c.id = s.clinic_id and "
            "c.name ~ '^(Large clinic|Copy|Long lists) '")


def test_a_large_clinic_out_and_in_again(api):
    """10,000 patients with 60,000 visits and 20,000 screws: all of it, row for row, and told on the way how far it is."""
    if api.valgrind:  # the same ways as a small one's, at a hundred times the cost
        return
    clinic = Clinic(api.program, f"Large clinic {next(NUMBERS)}")
    people(api, clinic, 10000, datetime.date(2026, 4, 13))
    forget_standings(api)
    with tempfile.TemporaryDirectory() as folder:
        one, two, copy = f"{folder}/one", f"{folder}/two", f"Copy {next(NUMBERS)}"
        out_s, out_mib, told = measured(api, "export", clinic.id, one)
        assert [line for line in told.splitlines() if line.startswith("visits")] == \
            [f"visits {n}0000 …" for n in range(1, 7)] + ["visits 60000"], told
        in_s, in_mib, told = measured(api, "import", one, "--name", copy)
        assert "visits 60000" in told and "patients 10000" in told
        forget_standings(api)
        measured(api, "export", copy, two)
        rows = same_but_for_the_head(one, two)
        assert rows > 100000
        print(f"  {rows} rows, {os.path.getsize(one) / MIB:.0f} MiB: out in {out_s:.1f} s with {out_mib:.0f} MiB, "
              f"in in {in_s:.1f} s with {in_mib:.0f} MiB")
        # A tenth of the file would be more than a few rows at a time; a sanitizer needs some itself.
        empty_s, empty_mib, _ = measured(api, "export", Clinic(api.program, f"Empty {next(NUMBERS)}").id, f"{folder}/none")
        assert out_mib < empty_mib + 8 and in_mib < empty_mib + 40, (empty_mib, out_mib, in_mib)


def test_a_long_list_takes_little_memory(api):
    if api.valgrind:  # the same ways as a small one's, at a hundred times the cost
        return
    chart = Chart(api, Clinic(api.program, f"Long lists {next(NUMBERS)}"))
    people(api, chart.clinic, 5000, datetime.date(2026, 4, 13))
    forget_standings(api)
    api.sql(f"update holdfast.visits set note = repeat('x', 600) where clinic_id = '{chart.clinic.id}'")
    daemon = Daemon(api.program, env=no_hoard(api))
    try:
        daemon.request("GET", "/v1/screws.ndjson", None, chart.token)  # every worker has done its part once
        before = daemon.resident_kib()
        status, _, lines = daemon.request("GET", "/v1/visits.ndjson", None, chart.token)
        assert status == 200 and len(set(re.findall(rb'^{"id":"([^"]+)"', lines, re.M))) == 30000 == lines.count(b"\n")
        grown_mib = (daemon.resident_kib() - before) / 1024
        print(f"  a list of {len(lines) / MIB:.0f} MiB: the daemon grew by {grown_mib:.1f} MiB")
        # Held at once it would be the text and the rows that it was made of: twice its length or more.
        assert grown_mib < len(lines) / MIB
    finally:
        assert daemon.stop() == 0
