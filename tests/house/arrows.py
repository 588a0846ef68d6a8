#!/usr/bin/env python3
"""Arrows point down only: every #include of a room names that room, a room below it, or a public header; the tools see
public headers and the tools below them alone. Usage: arrows.py SOURCE_DIR"""
import pathlib
import re
import sys

# From the cellar up. A room may include those listed for it and itself.
BELOW = {
    "base": [],
    "quantity": ["base"],
    "bench": ["quantity", "base"],
    "model": ["quantity", "base"],
    "pack": ["model", "bench", "quantity", "base"],
    "chain": ["model", "quantity", "base"],
    "rank": ["chain", "model", "quantity", "base"],
    "learn": ["rank", "chain", "model", "quantity", "base"],
    "ask": ["rank", "chain", "model", "quantity", "base"],
    "explain": ["ask", "rank", "chain", "model", "quantity", "base"],
    "review": ["chain", "model", "quantity", "base"],
    "session": ["review", "explain", "ask", "learn", "rank", "chain", "pack", "model", "quantity", "base"],
    "job": ["session", "pack", "model", "quantity", "base"],
}
# The folders of the command likewise; each may include tools/commands.h, which says what main.c wants of it.
TOOLS = {
    "screen": [],
    "setup": ["screen"],
    "json": ["setup", "screen"],
    "report": ["screen"],
    "talk": ["report", "json", "setup", "screen"],
    "rules": ["json", "setup", "screen"],
    "measure": ["setup", "screen"],
    "apart": ["json", "setup", "screen"],
    "chart": ["setup", "screen"],
    "trial": ["json", "setup", "screen"],
    "begin": ["trial", "setup", "screen"],
    "replay": ["trial", "json", "setup", "screen"],
    "compare": ["replay", "trial", "json", "setup", "screen"],
    "learn": ["trial", "json", "setup", "screen"],
}
INCLUDE = re.compile(r'^\s*#\s*include\s+"([^"]+)"', re.M)
# Each foreign library is known to one file; the benchmark reads YAML on its own.
FOREIGN = {"yaml.h": ["engine/pack/yaml.c", "tools/bench/files.c"], "pcre2.h": ["engine/base/pattern.c"],
           "nettle/": ["engine/base/sha256.c"], "xxhash.h": ["engine/base/checksum.c"], "fftw3.h": ["engine/bench/spectrum.c"], 
           "sndfile.h": ["tools/measure/recording.c"], "cairo": ["tools/chart/page_cairo.c"],
           "fontconfig/": ["tools/chart/page_cairo.c"]}
ANGLE = re.compile(r"^\s*#\s*include\s+<([^>]+)>", re.M)


def foreign(top, path):
    for name in ANGLE.findall(path.read_text()):
        for library, owners in FOREIGN.items():
            if name.startswith(library) and str(path.relative_to(top)) not in owners:
                yield f"{path}: only {owners[0]} may include <{name}>"


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
        yield from foreign(top, path)
    for path in sorted((top / "include").rglob("*.h")):
        for name in INCLUDE.findall(path.read_text()):
            if not name.startswith("corewright/"):
                yield f"{path}: a public header may include public headers only, not {name}"
    yield from wrong_tools(top)


def wrong_tools(top):
    tools = top / "tools"
    for path in sorted(tools.rglob("*.[ch]")):
        yield from foreign(top, path)
        room = path.parent.name
        if path.parent == tools:
            allowed = [*TOOLS, "commands.h", "command.def", "corewright"]
        elif room == "bench":
            allowed = [p.name for p in path.parent.iterdir()] + ["corewright"]
        elif room in TOOLS:
            allowed = [*TOOLS[room], room, "commands.h", "corewright"]
        else:
            yield f"{path}: a folder of tools that tests/house/arrows.py does not know"
            continue
        for name in INCLUDE.findall(path.read_text()):
            if name.split("/")[0] not in allowed:
                yield f"{path}: {room} may not include {name}"
            elif name.split("/")[0] in TOOLS and not (tools / name).exists():
                yield f"{path}: {name} is none of the tools"


def main():
    found = list(wrong(pathlib.Path(sys.argv[1])))
    print("\n".join(found) or "every arrow points down")
    return 1 if found else 0


sys.exit(main())
