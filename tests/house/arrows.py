#!/usr/bin/env python3
"""Arrows point down only: every #include of a room names that room, a room below it, or a public header; the tools see
public headers and each other alone. Usage: arrows.py SOURCE_DIR"""
import pathlib
import re
import sys

# From the cellar up. A room may include those listed for it and itself.
BELOW = {
    "base": [],
    "quantity": ["base"],
    "bench": ["quantity", "base"],
    "model": ["quantity", "base"],
    "pack": ["model", "quantity", "base"],
    "chain": ["model", "quantity", "base"],
    "rank": ["chain", "model", "quantity", "base"],
    "ask": ["rank", "chain", "model", "quantity", "base"],
    "explain": ["ask", "rank", "chain", "model", "quantity", "base"],
    "session": ["explain", "ask", "rank", "chain", "pack", "model", "quantity", "base"],
    "job": ["session", "pack", "model", "quantity", "base"],
}
INCLUDE = re.compile(r'^\s*#\s*include\s+"([^"]+)"', re.M)
# Each foreign library is known to one file.
FOREIGN = {"yaml.h": "engine/pack/yaml.c", "pcre2.h": "engine/base/pattern.c", "nettle/": "engine/base/sha256.c"}
ANGLE = re.compile(r"^\s*#\s*include\s+<([^>]+)>", re.M)


def wrong(top):
    engine = top / "engine"
    for folder in sorted(p for p in engine.iterdir() if p.is_dir()):
        if folder.name not in BELOW:
            yield f"{folder}: a room that tests/house/arrows.py does not know"
    for path in sorted(engine.glob("*/*.[ch]")) + sorted(engine.glob("*/*.def")):
        room = path.parent.name
        allowed = [*BELOW.get(room, []), room, "corewright"]
        text = path.read_text()
        for name in INCLUDE.findall(text):
            if name.split("/")[0] not in allowed:
                yield f"{path}: {room} may not include {name}"
        for name in ANGLE.findall(text):
            for foreign, owner in FOREIGN.items():
                if name.startswith(foreign) and str(path.relative_to(top)) != owner:
                    yield f"{path}: only {owner} may include <{name}>"
    for path in sorted((top / "include").rglob("*.h")):
        for name in INCLUDE.findall(path.read_text()):
            if not name.startswith("corewright/"):
                yield f"{path}: a public header may include public headers only, not {name}"
    for path in sorted((top / "tools").rglob("*.[ch]")):
        for name in INCLUDE.findall(path.read_text()):
            if name.split("/")[0] in BELOW:
                yield f"{path}: the tools see public headers only, not {name}"


def main():
    found = list(wrong(pathlib.Path(sys.argv[1])))
    print("\n".join(found) or "every arrow points down")
    return 1 if found else 0


sys.exit(main())
