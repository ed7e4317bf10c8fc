"""Invents values: such as a JSON schema describes, and such as it does not."""
import copy
import datetime
import json

WORDS = ["A", "right hook", "16", "Ünlike & 100%", "日本", "a\tb", "\U0001f9b7", "'; drop table patients; --", "%00", "{}", "null",
         "\u202e", "e\u0301", "<b>", "\\", '"', "-0", "x" * 60]
# Of every type, for every place.
WILD = [None, True, False, 0, 1, -1, 0.5, -0.0, 1e-320, 1e308, -1e308, 2**31, 2**53 + 1, 10**30, "", " ", "2", "NaN", "x" * 5000,
        [], {}, [[]], [None], {"": 0}, {"value": 1, "unit": "gf"}, {"value": "1", "unit": "mm"}, {"value": 1, "unit": "furlong"},
        {"$ref": "x"}, "2026-02-30", "0001-01-01", "9999-12-31", "01890a5d-ac96-774b-bcce-b302099a8057", "\ud7ff", "\ue000"]
# Texts in the place of a whole body.
RAW = ["", "{", "[]", "null", "\ufeff{}", "{}{}", '{"a":1,"a":2}', '{"a":NaN}', '{"a":1e999}', '{"a":"\\ud800"}', "[" * 33 + "]" * 33,
       '{"a":' * 40 + "1" + "}" * 40, "{'a':1}", '{"a":01}', '{"a":1,}', "\x00", '{"a":"\\u0000"}', "{}\n\n", "0", '"x"']


def generate(contract, schema, rng, depth=0):
    """A value that the schema describes, as far as that can be seen member by member."""
    schema = {**schema, **contract.resolve(schema)} if "$ref" in schema else schema
    if "const" in schema:
        return schema["const"]
    if "enum" in schema:
        return rng.choice(schema["enum"])
    for choice in ("oneOf", "anyOf"):
        if choice in schema and "properties" not in schema:
            return generate(contract, rng.choice(schema[choice]), rng, depth)
    if "allOf" in schema:
        return generate(contract, schema["allOf"][0], rng, depth)
    kind = schema.get("type", "object" if "properties" in schema else "string")
    kind = rng.choice(kind) if isinstance(kind, list) else kind
    return MAKERS[kind](contract, schema, rng, depth)


def make_object(contract, schema, rng, depth):
    required = schema.get("required", [])
    chance = 0.5 if depth < 3 else 0.25
    return {name: generate(contract, member, rng, depth + 1) for name, member in schema.get("properties", {}).items()
            if name in required or (depth < 7 and rng.random() < chance)}


def make_array(contract, schema, rng, depth):
    low = schema.get("minItems", 0)
    high = min(schema.get("maxItems", low + 3), max(low, 3))
    return [generate(contract, schema.get("items", {}), rng, depth + 1) for _ in range(rng.randint(low, high))]


def make_number(contract, schema, rng, depth):
    low, high = schema.get("minimum", -1000), schema.get("maximum", 1000)
    if rng.random() < 0.2:
        return rng.choice([low, high])
    value = rng.uniform(low, high)
    return round(value, rng.randint(0, 6)) if low < round(value, 0) < high else value


def make_integer(contract, schema, rng, depth):
    return rng.randint(int(schema.get("minimum", 0)), int(schema.get("maximum", 400)))


def make_string(contract, schema, rng, depth):
    day = datetime.date(2026, 1, 1) + datetime.timedelta(days=rng.randint(-4000, 1000))
    if schema.get("format") == "date":
        return str(day)
    if schema.get("format") == "date-time":
        return f"{day}T12:00:00Z"
    if schema.get("format") == "uuid":
        return "01890a5d-ac96-774b-bcce-b302099a8057"
    if schema.get("pattern") == "^[1-4][1-8]$":
        return f"{rng.randint(1, 4)}{rng.randint(1, 8)}"
    text = rng.choice(WORDS) if rng.random() < 0.5 else "".join(rng.choice("abcd- 16") for _ in range(rng.randint(1, 12)))
    text = (text or "a").ljust(schema.get("minLength", 0), "a")
    return text[:schema.get("maxLength", len(text))]


MAKERS = {"object": make_object, "array": make_array, "number": make_number, "integer": make_integer, "string": make_string,
          "boolean": lambda contract, schema, rng, depth: rng.random() < 0.5,
          "null": lambda contract, schema, rng, depth: None}


def places(node, path=()):
    yield path
    for name, value in node.items() if isinstance(node, dict) else enumerate(node) if isinstance(node, list) else ():
        yield from places(value, (*path, name))


def at(node, path):
    for step in path:
        node = node[step]
    return node


def mutate(body, rng):
    """The body with one place changed."""
    body = copy.deepcopy(body)
    path = rng.choice(list(places(body)))
    if not path:
        if isinstance(body, dict) and rng.random() < 0.5:
            body[rng.choice(["nonsense", "", "id", "clinic_id", "__proto__", "version"])] = rng.choice(WILD)
            return body
        return rng.choice(WILD)
    parent, name, old = at(body, path[:-1]), path[-1], at(body, path)
    roll = rng.randrange(6)
    if roll == 0:
        del parent[name]
    elif roll == 1 and isinstance(old, (int, float)) and not isinstance(old, bool):
        parent[name] = rng.choice([-old, old * 1e6, old / 1e6, old + 1, str(old), [old], {"value": old, "unit": "mm"}])
    elif roll == 1 and isinstance(old, str):
        parent[name] = rng.choice([old + "x", old[:-1], old.upper(), old * 50, [old], 5, old + "\u0301"])
    elif roll == 2 and isinstance(old, list):
        parent[name] = rng.choice([old * 2, old[::-1], old + [None], old * 40])
    elif roll == 3 and isinstance(old, dict):
        old[rng.choice(["nonsense", "colour", "value", "$ref"])] = rng.choice(WILD)
    elif roll == 4 and isinstance(parent, dict):
        # Another member's value.
        parent[name] = copy.deepcopy(rng.choice(list(parent.values())))
    else:
        parent[name] = copy.deepcopy(rng.choice(WILD))
    return body


def spoil(text, rng):
    """A text with some bytes changed."""
    data = bytearray(text.encode("utf-8", "surrogatepass"))
    for _ in range(rng.randint(1, 3)):
        at_byte = rng.randrange(len(data) + 1)
        roll = rng.randrange(4)
        if roll == 0:
            data[at_byte:at_byte + 1] = b""
        elif roll == 1:
            data[at_byte:at_byte] = bytes([rng.randrange(256)])
        elif roll == 2:
            data[at_byte:at_byte + 1] = rng.choice([b'"', b"{", b"}", b",", b":", b"[", b"\\", b"\xff", b"\xc0\xaf", b"\x00", b"e9"])
        else:
            data[at_byte:] = data[at_byte:][: rng.randint(0, 40)]
    return bytes(data)


def read_strictly(text):
    """(value, True) of a text that is one JSON document with every member once, or (None, False)."""
    def once(pairs):
        if len({name for name, _ in pairs}) != len(pairs):
            raise ValueError("a member told twice")
        return dict(pairs)

    def refuse(constant):
        raise ValueError(constant)

    try:
        return json.loads(text.decode("utf-8"), object_pairs_hook=once, parse_constant=refuse), True
    except (ValueError, RecursionError):
        return None, False
