"""A browser, as far as the service sees one: it likes pages, keeps the cookie, says where a request comes from. And a strict
reader of pages."""
import re
from html.parser import HTMLParser
from urllib.parse import urlencode

VOID = {"meta", "link", "input", "img", "br", "hr", "wbr"}
LABELLED = {"input", "select", "textarea"}


class Browser:
    def __init__(self, daemon, request=None, cookie=None):
        """`request`: whose (by default the daemon's own)."""
        self.daemon, self.send, self.cookie = daemon, request or daemon.request, cookie

    def ask(self, method, path, form=None, headers=None):
        fields = {"Accept": "text/html,application/xhtml+xml,application/xml;q=0.9,*/*;q=0.8"}
        if self.cookie:
            fields["Cookie"] = self.cookie
        if form is not None:
            fields["Content-Type"] = "application/x-www-form-urlencoded"
        if method == "POST":
            fields["Sec-Fetch-Site"] = "same-origin"
        fields.update(headers or {})
        answer = self.send(method, path, None if form is None else urlencode(form), None,
                           {name: value for name, value in fields.items() if value is not None})
        for field in answer[1].get_all("Set-Cookie") or []:
            pair = field.split(";")[0]
            self.cookie = None if "Max-Age=0" in field else pair
        return answer

    def get(self, path, **headers):
        return self.ask("GET", path, headers=headers)

    def sign_in(self, token, next=None, **headers):
        return self.ask("POST", "/sign-in", {"token": token, **({} if next is None else {"next": next})}, headers)

    def page(self, path, status=200):
        """The page there, read strictly."""
        answer = self.get(path)
        assert answer[0] == status, f"GET {path}: {answer[0]} {answer[1]['Location']} {answer[2][:500]!r}"
        return Page(answer)


def signed_in(api, token):
    browser = Browser(api.daemon, api.request)
    answer = browser.sign_in(token)
    assert answer[0] == 303, answer
    return browser


class Page(HTMLParser):
    """Refuses what a forgiving browser would mend: unbalanced tags, ids told twice, fields without a label, and whatever would
    need a looser content policy than ours."""

    def __init__(self, answer):
        super().__init__(convert_charrefs=True)
        self.open, self.ids, self.labels, self.fields, self.links, self.text = [], set(), set(), [], [], []
        self.tags, self.references = [], []
        status, headers, body = answer
        self.source = body.decode()
        assert headers["Content-Type"] == "text/html; charset=utf-8" and headers["Cache-Control"] == "no-store", headers
        policy = headers["Content-Security-Policy"]
        assert policy.startswith("default-src 'none'; style-src 'self'; img-src 'self' data:;"), policy
        assert "unsafe" not in policy and "frame-ancestors 'none'" in policy, policy
        assert self.source.startswith("<!doctype html>\n"), self.source[:80]
        self.feed(self.source)
        self.close()
        assert not self.open, f"left open: {self.open}"
        assert self.tags.count("h1") == 1 and self.tags.count("main") == 1 and "title" in self.tags
        for field in self.fields:
            named = field.get("type") == "hidden" or field.get("id") in self.labels or field.get("aria-label")
            assert named, f"a field without a label: {field}"
        for reference in self.references:
            assert reference in self.ids, f"refers to #{reference}, which is not there"
        self.words = re.sub(r"\s+", " ", "".join(self.text))

    def handle_starttag(self, tag, attributes):
        told = dict(attributes)
        assert len(told) == len(attributes), f"an attribute twice: {tag} {attributes}"
        for name, value in attributes:
            assert not name.startswith("on") and name != "style", f"{tag} with {name}"
            assert name not in ("src", "href", "action") or not re.match(r"\s*(javascript|http|//)", value or ""), value
        assert tag != "style" and (tag != "script" or told.get("src")), f"inline {tag}"
        if "id" in told:
            assert told["id"] and told["id"] not in self.ids, f"id {told['id']!r} twice"
            self.ids.add(told["id"])
        for name in ("for", "aria-labelledby", "aria-describedby"):
            self.references += (told.get(name) or "").split()
        if tag == "a" and told.get("href", "").startswith("#"):
            self.references.append(told["href"][1:])
        if tag == "label":
            self.labels.add(told.get("for"))
        if tag in LABELLED:
            self.fields.append(told)
        if tag == "a":
            self.links.append(told["href"])
        if tag == "th":
            assert told.get("scope") in ("row", "col", "rowgroup", "colgroup"), f"th without scope: {told}"
        if tag == "img":
            assert "alt" in told, told
        self.tags.append(tag)
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attributes):
        self.handle_starttag(tag, attributes)
        if tag not in VOID:
            self.handle_endtag(tag)

    def handle_endtag(self, tag):
        assert self.open and self.open[-1] == tag, f"</{tag}> where {self.open[-3:]} is open"
        self.open.pop()

    def handle_data(self, data):
        self.text.append(data)
