"""An SVG of the service read back: shapes and texts where they stand in the picture, and axes by their labelled ticks."""
import re
import xml.etree.ElementTree as ElementTree
from datetime import date

SVG = "{http://www.w3.org/2000/svg}"
MONTHS = "Jan Feb Mar Apr May Jun Jul Aug Sep Oct Nov Dec".split()
NARROW, WIDE = set(" .,:;'|!()[]ijlftrI/-"), set("mwMW%@ABCDEGHKNOPQRUVXYZ")


def text_width(text, size):
    """Rough, after the widths of Helvetica and a little more."""
    return sum(0.34 if c in NARROW else 0.85 if c in WIDE else 0.58 for c in text) * size


def shown(value, digits=3):
    """A number as drawings tell it: so many significant digits, a true minus sign, no exponent, no ending zeros."""
    from math import floor, log10
    before = floor(log10(abs(value))) + 1 if value else 1
    text = f"{abs(value):.{min(max(digits - before, 0), 6)}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return ("−" if value < 0 and float(text) else "") + text


def day_number(text):
    """Of a tick of dates: the first of what it names."""
    if re.fullmatch(r"\d{4}-\d\d-\d\d", text):
        return date.fromisoformat(text).toordinal()
    parts = text.split()
    month = MONTHS.index(parts[0]) + 1 if len(parts) == 2 else 1
    return date(int(parts[-1]), month, 1).toordinal()


class Node:
    """One element, with where it stands."""

    def __init__(self, element, x, y, size=12):
        self.element = element
        moved = re.fullmatch(r"translate\((\S+) (\S+)\)", element.get("transform", ""))
        self.x, self.y = (x + float(moved[1]), y + float(moved[2])) if moved else (x, y)
        self.kind = element.tag.removeprefix(SVG)
        self.classes = set(element.get("class", "").split())
        if "panel" in self.classes:
            self.x, self.y = x + float(element.get("x")), y + float(element.get("y"))
        self.size = 11 if self.classes & {"panel", "legend"} else size
        self.children = [Node(e, self.x, self.y, self.size) for e in element]

    def every(self, kind, *classes):
        """Below this, in the order of drawing."""
        for child in self.children:
            if child.kind == kind and set(classes) <= child.classes:
                yield child
            yield from child.every(kind, *classes)

    def one(self, kind, *classes):
        found = list(self.every(kind, *classes))
        assert len(found) == 1, (kind, classes, len(found))
        return found[0]

    def number(self, name):
        return float(self.element.get(name))

    def at(self, x="x", y="y"):
        return self.x + self.number(x), self.y + self.number(y)

    def ends(self):
        return self.at("x1", "y1"), self.at("x2", "y2")

    def centre(self):
        return self.at("cx", "cy")

    def points(self):
        """Of a path, an M begins anew like an L goes on."""
        return [(self.x + float(x), self.y + float(y))
                for x, y in re.findall(r"[ML](\S+?) ([-\d.]+)", self.element.get("d"))]

    def text(self):
        return self.element.text or ""

    def texts(self):
        return [t.text() for t in self.every("text")]

    def title(self):
        return next(c.text() for c in self.children if c.kind == "title")

    def told(self, name):
        return self.element.get("data-" + name)

    def box(self):
        """left, top, right, bottom of a text."""
        x, y = self.at()
        size = 10 if "small" in self.classes else self.size
        width = text_width(self.text(), size) * (1.06 if "strong" in self.classes else 1)
        left = x - width if "end" in self.classes else x - width / 2 if "middle" in self.classes else x
        return left, y - 0.75 * size, left + width, y + 0.2 * size


class Axis:
    """Two labelled ticks tell where everything stands."""

    def __init__(self, ticks):
        (self.v0, self.p0), (self.v1, self.p1) = ticks[0], ticks[-1]
        for value, place in ticks:
            assert abs(self(value) - place) < 0.6, (value, place, self(value))

    def __call__(self, value):
        return self.p0 + (value - self.v0) / (self.v1 - self.v0) * (self.p1 - self.p0)


def value_of(text):
    return float(text.replace("−", "-"))


class Picture(Node):
    def __init__(self, answer):
        status, headers, text = answer
        assert status == 200 and headers["Content-Type"] == "image/svg+xml", (status, headers["Content-Type"], text[:300])
        assert headers["Content-Security-Policy"] == "default-src 'none'; style-src 'unsafe-inline'"
        super().__init__(ElementTree.fromstring(text), 0, 0)
        self.whole = text.decode()
        self.description = self.one("desc").text()
        self.width, self.height = map(float, self.element.get("viewBox").split()[2:])
        assert self.element.get("role") == "img" and "style=" not in self.whole and "<script" not in self.whole

    @staticmethod
    def axis(group, which, value=value_of):
        """Of the group's labels under "axis-x" or beside "axis-y"; each label stands at its grid line."""
        axis = group.one("g", f"axis-{which}")
        lines = [line.ends()[0][which == "y"] for line in axis.every("line", "grid")]
        labels = list(axis.every("text"))
        assert len(lines) == len(labels) > 1
        for line, label in zip(lines, labels):
            assert abs(label.at()[which == "y"] - line) < 5
        return Axis([(value(label.text()), line) for line, label in zip(lines, labels)])

    def check_legible(self):
        """No text on another, none outside."""
        texts = [t for t in self.every("text") if t.text()]
        boxes = [t.box() for t in texts]
        for i, a in enumerate(boxes):
            assert a[0] > -1 and a[1] > -1 and a[2] < self.width + 1 and a[3] < self.height + 1, (texts[i].text(), a)
            for j in range(i):
                b = boxes[j]
                apart = a[2] <= b[0] + 0.5 or b[2] <= a[0] + 0.5 or a[3] <= b[1] or b[3] <= a[1]
                assert apart, f"'{texts[i].text()}' stands on '{texts[j].text()}': {a} {b}"
