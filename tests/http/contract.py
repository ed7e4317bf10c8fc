"""The service's own description (OpenAPI), read once: what it offers, and whether an exchange is as described."""
import json
import re
from urllib.parse import parse_qsl, urlsplit

import jsonschema
import yaml

LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
# Statuses of requests that are refused before anything in them is looked at: response `default`.
UNSEEN = {400, 405, 408, 411, 413, 414, 417, 429, 431, 503, 505}
TIME = re.compile(r"\d{4}-\d\d-\d\d[Tt]([01]\d|2[0-3]):[0-5]\d:[0-5]\d(\.\d+)?([Zz]|[+-]\d\d:\d\d)")
FORMATS = jsonschema.FormatChecker()


@FORMATS.checks("date-time")
def is_time(value):
    return not isinstance(value, str) or TIME.fullmatch(value) is not None


class Operation:
    """One method of one path."""

    def __init__(self, contract, path, method, node):
        self.path, self.method, self.node = path, method.upper(), node
        self.id = node["operationId"]
        # None: needs no token.
        self.roles = None if node.get("security") == [] else frozenset(node["x-roles"])
        self.parameters = [contract.resolve(p) for p in node.get("parameters", [])]
        self.takes = node.get("requestBody", {}).get("content", {})
        self.good = min(status for status in node["responses"] if status < "400")
        self.collection = path.split("/")[2] if path.startswith("/v1/") else path.split("/")[1]
        self.words = re.findall(r"\{(\w+)\}", path)

    def named(self, place):
        return {p["name"]: p for p in self.parameters if p["in"] == place}

    def media_type(self):
        return next(iter(self.takes), None)

    def streams(self):
        return "text/event-stream" in self.node["responses"][self.good].get("content", {})

    def takes_form(self):
        return self.media_type() == "application/x-www-form-urlencoded"

    def __repr__(self):
        return f"{self.method} {self.path}"


class Contract:
    def __init__(self, text):
        self.text = text
        self.document = yaml.load(text, LOADER)
        self.validators = {}
        self.operations = [Operation(self, path, method, node) for path, item in self.document["paths"].items()
                           for method, node in item.items()]
        # Paths without a word in braces first: /v1/visits/due is not the visit "due".
        order = sorted(self.operations, key=lambda o: len(o.words))
        self.patterns = [(re.compile(re.sub(r"\\{\w+\\}", "[^/]+", re.escape(o.path))), o) for o in order]

    def resolve(self, node):
        while "$ref" in node:
            target = self.document
            for step in node["$ref"].lstrip("#/").split("/"):
                target = target[step]
            node = target
        return node

    def faults(self, schema, value):
        key = json.dumps(schema, sort_keys=True)
        if key not in self.validators:
            whole = {**schema, "components": self.document["components"]}
            self.validators[key] = jsonschema.Draft202012Validator(whole, format_checker=FORMATS)
        return [f"{list(e.absolute_path)}: {e.message[:300]}" for e, _ in
                zip(self.validators[key].iter_errors(value), range(5))]

    def operation(self, method, path):
        """Also of a path with the suffix of a form: /v1/visits/{id}/stability.svg."""
        method = "GET" if method == "HEAD" else method
        plain = re.sub(r"\.(json|html|svg|csv|ndjson|pdf)$", "", path)
        return next((o for asked in dict.fromkeys((path, plain)) for pattern, o in self.patterns
                     if o.method == method and pattern.fullmatch(asked)), None)

    def check_answer(self, method, target, answer, page=False):
        """Asserts that this answer is one that is described; `page`: text/html was asked for. Returns the operation, None
        where there is none."""
        status, headers, text = answer
        operation = self.operation(method, urlsplit(target).path)
        what = f"{method} {target}"
        if page and (status >= 400 or status == 303 and operation is not None and operation.good != "303"):
            self.check_page_instead(what, answer)
            return operation
        if status >= 400 and method != "HEAD":
            self.check_problem(what, answer)
        if operation is None:
            assert status == 204 or status in UNSEEN | {401, 404}, f"{what} answers {status} and is not described"
            return None
        responses = operation.node["responses"]
        described = responses.get(str(status)) or (responses["default"] if status in UNSEEN else None)
        assert described, f"{what} answers {status}, which is not described: {text[:300]!r}"
        described = self.resolve(described)
        for name, header in described.get("headers", {}).items():
            has_tag = name == "ETag" and not (headers["Content-Type"] or "").startswith("text/html")
            required = self.resolve(header).get("required", False) or has_tag
            assert headers[name] or not required, f"{what}: {status} without {name}"
        if method == "HEAD" or status in (204, 304):
            assert text == b"", f"{what}: {status} with a body"
            return operation
        if status < 400 and text == b"":
            assert status == 303 or headers["Preference-Applied"] == "return=minimal", f"{what}: {status} without a body"
            return operation
        kind = headers["Content-Type"]
        content = {name.replace(" ", ""): media for name, media in described["content"].items()}
        media = content.get((kind or "").replace(" ", "")) or content.get((kind or "").split(";")[0])
        assert media is not None, f"{what}: {status} as {kind}, described are {list(content)}"
        if kind.split(";")[0].endswith(("/json", "+json")):
            faults = self.faults(media["schema"], json.loads(text))
            assert not faults, f"{what}: {status} is not as described: {faults}\n{text[:1500]!r}"
        return operation

    @staticmethod
    def check_page_instead(what, answer):
        """Who asked for a page gets a refusal as one, or is led to where one signs in."""
        status, headers, text = answer
        if status == 303:
            assert headers["Location"].startswith("/sign-in?next=%2F") and text == b"", f"{what}: {headers['Location']}"
        else:
            # What is refused before a request was read in full is told in one form.
            early = headers["Content-Type"] == "application/problem+json" and status in (400, 413, 414, 431, 503)
            assert early or headers["Content-Type"] == "text/html; charset=utf-8", f"{what}: {status} as {headers['Content-Type']}"

    @staticmethod
    def check_problem(what, answer):
        status, headers, text = answer
        assert headers["Content-Type"] == "application/problem+json", f"{what}: {status} as {headers['Content-Type']}"
        problem = json.loads(text)
        assert problem["status"] == status and problem["type"].startswith("/problems/") and problem["title"], \
            f"{what}: {status} with {text[:300]!r}"

    def check_taken(self, operation, method, target, body, headers):
        """Asserts that a request that was taken is one that is described."""
        split = urlsplit(target)
        for name, _ in parse_qsl(split.query):
            known = operation.named("query")
            assert name in known or name.startswith("/") and "pointers" in known, f"{operation} takes ?{name}, which is not described"
        if body is None:
            return
        kind = next((v for k, v in (headers or {}).items() if k.lower() == "content-type"), None)
        kind = kind.split(";")[0] if kind else "application/merge-patch+json" if method == "PATCH" else "application/json"
        assert kind in operation.takes, f"{operation} takes a body of {kind}, which is not described"
        if kind.endswith("json"):
            value = json.loads(body if isinstance(body, (str, bytes)) else json.dumps(body))
            faults = self.faults(operation.takes[kind]["schema"], value)
            assert not faults, f"{operation} takes a body that is not described: {faults}\n{json.dumps(value)[:1500]}"

    def check(self, method, target, body, headers, answer):
        """A whole exchange. Returns the operation, None where there is none."""
        accept = next((v for k, v in (headers or {}).items() if k.lower() == "accept"), "")
        operation = self.check_answer(method, target, answer, "text/html" in accept or urlsplit(target).path.endswith(".html"))
        led_away = answer[0] == 303 and operation is not None and operation.good != "303"
        if operation is not None and answer[0] < 400 and not led_away:
            self.check_taken(operation, method, target, body, headers)
        return operation
