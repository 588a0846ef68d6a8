#!/usr/bin/env python3
"""The manual, rules/*.md, against the code: every link leads somewhere, every command and option it names is there, every key that
the reader takes is in the reference, every number of the schemas is explained, every piece of YAML of how-to.md loads.
Usage: book.py COMMAND SOURCE_DIR"""
import json
import pathlib
import re
import subprocess
import sys
import tempfile

command, top = sys.argv[1], pathlib.Path(sys.argv[2])
rules = top / "rules"
pages = {path.resolve(): path.read_text() for path in [*rules.glob("*.md"), top / "README.md", top / "DEVELOPERS.md"]}
book = [rules / f"{name}.md" for name in ("README", "tutorial", "how-to", "numbers")]
failures = []


def fail(words):
    failures.append(words)


def anchors(text):
    """As the hosts of such pages make them: small letters, blanks to hyphens, no punctuation."""
    heads = re.findall(r"^#+ (.*)$", re.sub(r"^```.*?^```$", "", text, flags=re.M | re.S), re.M)
    return {re.sub(r"[^\w\- ]", "", head.replace("`", "").lower()).replace(" ", "-") for head in heads}


def check_links():
    count = 0
    for path, text in pages.items():
        for target in re.findall(r"\]\(([^)\s]+)\)", text):
            if "://" in target:
                continue
            count += 1
            file, _, anchor = target.partition("#")
            to = (path.parent / file).resolve() if file else path
            if not to.exists():
                fail(f"{path.name}: {target} leads nowhere")
            elif anchor and anchor not in anchors(pages.get(to) or to.read_text()):
                fail(f"{path.name}: {target}: there is no such heading")
    return count


def check_words():
    options = set(re.findall(r'^OPTION\("(--[a-z-]+)"', (top / "tools/setup/option.def").read_text(), re.M)) | {"--help", "--version"}
    commands = set(re.findall(r'^COMMAND\("([a-z]+)"', (top / "tools/command.def").read_text(), re.M))
    for path in book:
        code = "\n".join(re.findall(r"`[^`\n]+`|^```.*?^```$", pages[path.resolve()], re.M | re.S))
        for word in re.findall(r"(?:^|[`$ ])corewright ([a-z]+)\b", code, re.M):
            if word not in commands:
                fail(f"{path.name}: there is no command {word}")
        for line in code.splitlines():
            for option in re.findall(r"(?<![\w-])(--[a-z-]+)", line if "corewright" in line or line.startswith("`--") else ""):
                if option not in options:
                    fail(f"{path.name}: there is no option {option}")


def check_keys():
    """Every key of every shape stands in code in the reference."""
    code = "\n".join(re.findall(r"`[^`\n]+`|^```.*?^```$", pages[(rules / "README.md").resolve()], re.M | re.S))
    keys = set(re.findall(r"^KEY\(\w+, (\w+), \w+\)", (top / "engine/pack/shape.def").read_text(), re.M))
    for key in sorted(keys):
        if not re.search(rf"\b{key}\b", code):
            fail(f"README.md does not speak of the key {key}")
    return len(keys)


def check_begin():
    """Every question of begin is among its words."""
    text = pages[(rules / "README.md").resolve()]
    rows = dict(re.findall(r"^\| (family|version|cause|check) \| (.*) \|$", text, re.M))
    for kind, key in re.findall(r'^QUESTION\(BEGIN_(\w+), \w+, "(\w+)"', (top / "tools/begin/question.def").read_text(), re.M):
        if f"`{key}`" not in rows.get(kind.lower(), ""):
            fail(f"README.md: begin {kind.lower()} lacks the word {key}")


def numbers_of(node, name, found):
    """The last named key above each number."""
    if isinstance(node, dict):
        kinds = node.get("type", [])
        if {"number", "integer"} & set([kinds] if isinstance(kinds, str) else kinds):
            found.add(name)
        for key, value in node.items():
            if key == "properties":
                for inner, what in value.items():
                    numbers_of(what, inner, found)
            else:
                numbers_of(value, name, found)
    elif isinstance(node, list):
        for value in node:
            numbers_of(value, name, found)


def check_numbers():
    told = set(re.findall(r"`(\w+)`", pages[(rules / "numbers.md").resolve()]))
    found = set()
    for name in ("result", "replay", "compare", "rules", "learn"):
        numbers_of(json.loads((rules / f"schema/{name}.schema.json").read_text()), "", found)
    for name in sorted(found - told):
        fail(f"numbers.md does not explain {name}")
    return len(found)


def check_pieces():
    pieces = re.findall(r"^```yaml\n(.*?)^```$", pages[(rules / "how-to.md").resolve()], re.M | re.S)
    with tempfile.TemporaryDirectory() as name:
        work = pathlib.Path(name)
        (work / "charging-basics").symlink_to((rules / "charging-basics").resolve())
        (work / "mine").mkdir()
        (work / "mine/pack.yaml").write_text("pack: {name: mine, title: Mine, version: 1, needs: [charging-basics]}\n")
        for i, piece in enumerate(pieces):
            (work / f"mine/piece{i}.yaml").write_text(piece)
        ran = subprocess.run([command, "rules", work / "mine"], capture_output=True, text=True)
        if ran.returncode != 0 or ": error:" in ran.stderr:
            fail(f"how-to.md: {ran.stderr}")
    return len(pieces)


links, keys, numbers, pieces = check_links(), check_keys(), check_numbers(), check_pieces()
check_words()
check_begin()
print("\n".join(failures))
print(f"{links} links, {keys} keys, {numbers} numbers, {pieces} pieces of YAML, {len(failures)} failures")
sys.exit(1 if failures or min(links, keys, numbers, pieces) < 9 else 0)
