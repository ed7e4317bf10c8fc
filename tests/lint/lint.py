#!/usr/bin/python3
"""House rules that a compiler does not hold: lint.py CORE_LIBRARY. Last line: `N passed, N failed`."""
import os
import re
import subprocess
import sys

# Which rooms a room may include, beside itself. Whoever is not listed may be included by nobody else.
BEFORE = {
    "core": [],
    "server/base": ["core"],
    "server/config": ["core", "server/base"],
    "server/json": ["core", "server/base"],
    "server/draw": ["core", "server/base"],
    "server/pages": ["core", "server/base", "server/json", "server/draw"],
    "server/store": ["core", "server/base"],
    "server/auth": ["core", "server/base", "server/json", "server/store"],
    "server/events": ["core", "server/base", "server/json", "server/store"],
    "server/rest": ["core", "server/base", "server/json", "server/pages", "server/store", "server/auth", "server/events"],
    "server/resources": ["core", "server/base", "server/json", "server/draw", "server/pages", "server/store", "server/auth",
                         "server/events", "server/rest"],
    "server/work": ["core", "server/base"],
    "server/http": ["core", "server/base", "server/work"],
}
TOP = ["server/app", "server"]  # where all meet: may include anything

THIRD_PARTY = {
    "curl/curl.h": ["server/events"],
    "jansson.h": ["server/json"],
    "libpq-fe.h": ["server/store"],
    "microhttpd.h": ["server/http"],
    "pthread.h": ["server/base", "server/events", "server/work", "server/http"],
    "sodium.h": ["server/base", "server/auth"],
}
CORE_HEADERS = {"assert.h", "float.h", "inttypes.h", "limits.h", "math.h", "stdalign.h", "stdarg.h", "stdbool.h", "stddef.h",
                "stdint.h", "stdio.h", "stdlib.h", "string.h"}
# All that the core may ask of the C library: memory, text in memory, sorting, mathematics.
CORE_SYMBOLS = set("""
    malloc calloc realloc free abort __assert_fail __stack_chk_fail qsort bsearch
    memcpy memmove memset memcmp memchr strlen strcmp strncmp strchr strrchr strstr strspn strcspn
    snprintf vsnprintf __snprintf_chk __vsnprintf_chk __memcpy_chk __memset_chk
    sin cos sincos tan asin acos atan atan2 sinh cosh tanh asinh acosh atanh exp exp2 expm1 log log2 log10 log1p
    pow sqrt cbrt hypot fabs fmax fmin fmod floor ceil round lround llround nearbyint rint trunc copysign ldexp frexp
    erf erfc lgamma lgamma_r tgamma nan _GLOBAL_OFFSET_TABLE_
""".split())

BANNED = ["alloca", "atof", "atoi", "atol", "ctime", "gets", "gmtime", "localtime", "setlocale", "sprintf", "strcat",
          "strcpy", "strtok", "system", "vsprintf"]
UNFINISHED = ["TO" + "DO", "FIX" + "ME", "XX" + "X", "HA" + "CK", "not " + "implemented", "#if " + "0"]
FILE_LINES, FUNCTION_LINES = 600, 80

INCLUDE = re.compile(r'^\s*#\s*include\s+([<"])([^">]+)[">]', re.M)
STRIP = re.compile(r'/\*.*?\*/|//[^\n]*|"(?:\\.|[^"\\\n])*"|\'(?:\\.|[^\'\\\n])+\'', re.S)


def source_files():
    found = []
    for folder, folders, names in os.walk("."):
        folders[:] = [f for f in folders if f not in (".git", ".run", "build", "__pycache__")]
        found += [os.path.normpath(os.path.join(folder, name)) for name in names]
    return sorted(found)


def read(path):
    with open(path, encoding="utf-8") as f:
        return f.read()


def code(text):
    """The text without comments and literals, lines kept."""
    return STRIP.sub(lambda m: "\n" * m.group().count("\n") + " ", text)


def room_of(path):
    folder = os.path.dirname(path)
    return "core" if folder.startswith("core") else folder


def check_format(files):
    run = subprocess.run(["clang-format", "--dry-run", "-Werror", *files], capture_output=True, text=True)
    places = [line.split(":")[0] for line in run.stderr.splitlines() if "error:" in line]
    return [f"{path}: {places.count(path)} places (make format)" for path in sorted(set(places))]


def check_includes(files):
    for path in files:
        room = room_of(path)
        if room in TOP or not path.startswith(("core/", "server/")):
            continue
        if room not in BEFORE:
            yield f"{path}: unknown room {room}"
            continue
        for kind, name in INCLUDE.findall(read(path)):
            if kind == "<":
                continue
            target = os.path.normpath(os.path.join(os.path.dirname(path), name))
            if not os.path.exists(target):
                yield f"{path}: includes {name}, which is not there"
            elif room_of(target) not in [room, *BEFORE[room]]:
                yield f"{path}: {room} must not know {room_of(target)} ({name})"


def check_third_party(files):
    for path in files:
        room = room_of(path)
        for kind, name in INCLUDE.findall(read(path)):
            if kind == "<" and name in THIRD_PARTY and path.startswith(("core/", "server/")) \
                    and room not in THIRD_PARTY[name]:
                yield f"{path}: <{name}> belongs to {', '.join(THIRD_PARTY[name])}"
            if kind == "<" and room == "core" and name not in CORE_HEADERS:
                yield f"{path}: the core has no use for <{name}>"


def check_file_length(files):
    for path in files:
        lines = read(path).count("\n")
        if lines > FILE_LINES:
            yield f"{path}: {lines} lines, limit {FILE_LINES}"


def functions(text):
    """(first line, last line) of every function: the braces at depth 0 whose head has parentheses and no `=`."""
    depth, head, start, is_function = 0, "", 0, False
    macro = False
    for number, line in enumerate(code(text).split("\n"), 1):
        macro = line.lstrip().startswith("#") or macro
        if macro:
            macro = line.endswith("\\")
            continue
        for character in line:
            if character == "{":
                if depth == 0:
                    is_function = "(" in head and "=" not in head
                depth += 1
            elif character == "}":
                depth -= 1
                if depth == 0 and is_function:
                    yield start, number
                if depth == 0:
                    head, is_function = "", False
            elif depth == 0:
                if character == ";":
                    head = ""
                elif head or not character.isspace():
                    start = start if head else number
                    head += character


def check_function_length(files):
    for path in files:
        for first, last in functions(read(path)):
            if last - first + 1 > FUNCTION_LINES:
                yield f"{path}:{first}: function of {last - first + 1} lines, limit {FUNCTION_LINES}"


def check_banned(files):
    pattern = re.compile(r"(?<![\w.>])(" + "|".join(BANNED) + r")\s*\(")
    for path in files:
        for number, line in enumerate(code(read(path)).split("\n"), 1):
            for name in pattern.findall(line):
                yield f"{path}:{number}: {name}()"


def check_unfinished(files):
    pattern = re.compile("|".join(rf"(?<!\w){re.escape(mark)}(?!\w)" for mark in UNFINISHED))
    for path in files:
        try:
            text = read(path)
        except UnicodeDecodeError:
            continue
        for number, line in enumerate(text.split("\n"), 1):
            if pattern.search(line):
                yield f"{path}:{number}: {line.strip()}"


def check_headers_alone(files):
    for path in files:
        if not path.startswith(("core/", "server/")):
            continue
        run = subprocess.run(["gcc", "-std=c17", "-D_GNU_SOURCE", "-Wall", "-Wextra", "-Werror", "-fsyntax-only",
                              "-isystem", "/usr/include/postgresql", "-x", "c", "-include", path, "/dev/null"],
                             capture_output=True, text=True)
        if run.returncode != 0:
            yield f"{path}: does not compile alone: {run.stderr.splitlines()[0]}"


def check_core_symbols(library):
    out = subprocess.run(["nm", "-A", library], capture_output=True, text=True, check=True).stdout
    defined, wanted = set(), set()
    for line in out.splitlines():
        fields = line.rsplit(":", 1)[1].split()
        kind, name = fields[-2], fields[-1]
        (wanted if kind in "Uw" else defined).add((name, line.split(":")[1]))
    names = {name for name, _ in defined}
    for name, member in sorted(wanted):
        if name not in names and name not in CORE_SYMBOLS:
            yield f"{member}: asks for {name}"
    for line in out.splitlines():
        fields = line.rsplit(":", 1)[1].split()
        if len(fields) == 3 and fields[1].isupper() and not fields[2].startswith("hf_"):
            yield f"{line.split(':')[1]}: exports {fields[2]} without hf_"


def check_core_state(library):
    out = subprocess.run(["objdump", "-h", library], capture_output=True, text=True, check=True).stdout
    member = ""
    for line in out.splitlines():
        if "file format" in line:
            member = line.split(":")[0]
        fields = line.split()
        if len(fields) == 7 and int(fields[2], 16) and not fields[1].startswith(".data.rel.ro") \
                and re.match(r"\.(data|bss|tdata|tbss)\b", fields[1]):
            yield f"{member}: {int(fields[2], 16)} bytes of writable state in {fields[1]}"


def check_scripts(files):
    for path in files:
        first = read(path).split("\n", 1)[0]
        if path.endswith(".py"):
            try:
                compile(read(path), path, "exec")
            except SyntaxError as e:
                yield f"{path}:{e.lineno}: {e.msg}"
        elif path.endswith(".sh") or "bash" in first or first == "#!/bin/sh":
            run = subprocess.run(["bash", "-n", path], capture_output=True, text=True)
            if run.returncode != 0:
                yield run.stderr.strip()
        if first.startswith("#!") and not os.access(path, os.X_OK):
            yield f"{path}: starts with {first} and is not executable"


def check_migrations(files):
    """One after the other: two that were made at the same time have to settle their order."""
    for place, path in enumerate(sorted(files), 1):
        if not os.path.basename(path).startswith(f"{place:04}_"):
            yield f"{path}: expected {place:04}_…"
            return


def main():
    files = source_files()
    c = [f for f in files if f.endswith((".c", ".h"))]
    product = [f for f in c if f.startswith(("core/", "server/"))]
    text = [f for f in files if not f.endswith((".png", ".ico"))]
    scripts = [f for f in files if f.endswith((".py", ".sh")) or f == ".ci/run"]
    rules = [
        ("format", check_format, c),
        ("include directions", check_includes, c),
        ("third-party headers in their rooms", check_third_party, c),
        (f"files of at most {FILE_LINES} lines", check_file_length, c + scripts),
        (f"functions of at most {FUNCTION_LINES} lines", check_function_length, c),
        ("no banned call", check_banned, c),
        ("nothing left unfinished", check_unfinished, text),
        ("headers compile alone", check_headers_alone, [f for f in product if f.endswith(".h")]),
        ("scripts parse", check_scripts, scripts),
        ("migrations count up", check_migrations, [f for f in files if re.match(r"migrations/[^/]+\.sql$", f)]),
        ("core asks only for memory, text and mathematics", check_core_symbols, sys.argv[1]),
        ("core keeps no state", check_core_state, sys.argv[1]),
    ]
    failed = 0
    for name, check, subject in rules:
        faults = list(check(subject)) if subject else ["nothing to look at"]
        failed += bool(faults)
        for fault in faults:
            print(f"  lint: {name}: {fault}")
    print(f"{len(rules) - failed} passed, {failed} failed")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
