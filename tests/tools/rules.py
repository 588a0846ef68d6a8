#!/usr/bin/env python3
"""The command rules as programs and editors meet it: --json against its schema, --sarif against what SARIF 2.1.0 asks
for (written by hand from the standard, section by section), both against the messages that people read; --explain for
every code; --watch on a folder that changes. Usage: rules.py COMMAND SOURCE_DIR"""
import json
import os
import pathlib
import re
import select
import shutil
import signal
import subprocess
import sys
import tempfile
import time

import jsonschema

command, top = sys.argv[1], pathlib.Path(sys.argv[2])
schema = json.loads((top / "rules/schema/rules.schema.json").read_text())
jsonschema.Draft202012Validator.check_schema(schema)
validator = jsonschema.Draft202012Validator(schema)
mistakes = top / "tests/review/mistakes"
failures = []


def fail(words):
    failures.append(words)


def run(*words, status=None):
    ran = subprocess.run([command, "rules", *map(str, words)], capture_output=True, text=True)
    if status is not None and ran.returncode != status:
        fail(f"rules {words}: status {ran.returncode}, expected {status}\n{ran.stderr}")
    return ran


def spots(text):
    """file:line:column: kind: words of what people read; a second spot is a note behind its message."""
    found = []
    for line in text.splitlines():
        at = re.match(r"(?:(.*?):(\d+):(\d+): )?(error|warning|note): (.*)$", line)
        if at and at[4] == "note" and at[1] and found:
            found[-1]["other"] = (at[1], int(at[2]), int(at[3]), at[5])
        elif at:
            found.append({"spot": (at[1], int(at[2]), int(at[3])) if at[1] else None, "kind": at[4], "text": at[5]})
    return found


def check_json(name, folder, people):
    ran = run("--json", folder)
    result = json.loads(ran.stdout)
    for error in validator.iter_errors(result):
        fail(f"{name}: {error.json_path}: {error.message}")
    if ran.stderr:
        fail(f"{name}: --json wrote to standard error: {ran.stderr}")
    got = [{"spot": (m["file"], m["line"], m["column"]) if m["line"] else None, "kind": m["kind"], "text": m["text"],
            **({"other": tuple(m["other"][k] for k in ("file", "line", "column", "text"))} if m["other"] else {})}
           for m in result["messages"]]
    if got != people:
        fail(f"{name}: --json says otherwise than the text:\n{got}\n{people}")
    for kind in ("error", "warning", "note"):
        if result[kind + "s"] != sum(m["kind"] == kind for m in result["messages"]):
            fail(f"{name}: {kind}s are miscounted")
    return result


def check_region(name, region, folder, uri):
    """3.30: lines from 1, columns from 1, the end not before the start, and within the file."""
    if not (region["startLine"] >= 1 and region["startColumn"] >= 1):
        fail(f"{name}: region {region}")
    if "endColumn" in region and (region["endLine"], region["endColumn"]) <= (region["startLine"], region["startColumn"]):
        fail(f"{name}: region ends before it begins: {region}")
    lines = (folder / uri.rsplit("/", 1)[1]).read_text(errors="replace").split("\n")
    if region["startLine"] > len(lines) or region["startColumn"] > len(lines[region["startLine"] - 1]) + 1:
        fail(f"{name}: region outside the file: {region}")


def check_location(name, location, folder):
    physical = location["physicalLocation"]  # 3.28.3
    uri = physical["artifactLocation"]["uri"]  # 3.4.3
    if not re.fullmatch(r"(file:///|)[A-Za-z0-9._~/%-]+", uri):
        fail(f"{name}: no URI: {uri}")
    check_region(name, physical["region"], folder, uri)


def check_sarif(name, folder, result):
    ran = run("--sarif", folder)
    log = json.loads(ran.stdout)
    if log["version"] != "2.1.0" or not log["$schema"].startswith("https://"):  # 3.13.2, 3.13.3
        fail(f"{name}: version or $schema")
    [one] = log["runs"]  # 3.13.4
    driver = one["tool"]["driver"]  # 3.14.6, 3.18.2
    if driver["name"] != "corewright" or one["columnKind"] != "unicodeCodePoints":  # 3.19.8, 3.14.17
        fail(f"{name}: driver {driver['name']}, {one['columnKind']}")
    ids = [rule["id"] for rule in driver["rules"]]  # 3.49.3
    if len(set(ids)) != len(ids):
        fail(f"{name}: a rule is listed twice")
    for rule in driver["rules"]:
        page = (top / f"rules/messages/{rule['id']}.md").read_text()
        if rule["help"]["text"] != page or not rule["shortDescription"]["text"]:  # 3.49.9, 3.49.12
            fail(f"{name}: {rule['id']} has not its page as help")
        if rule["defaultConfiguration"]["level"] not in ("error", "warning", "note"):  # 3.50.3
            fail(f"{name}: level {rule['defaultConfiguration']}")
    if len(one["results"]) != len(result["messages"]):
        fail(f"{name}: {len(one['results'])} results for {len(result['messages'])} messages")
    for found, message in zip(one["results"], result["messages"]):
        if found["ruleId"] != message["code"] or ids[found["ruleIndex"]] != message["code"]:  # 3.27.5, 3.27.6
            fail(f"{name}: rule of {message['code']}")
        if found["level"] != message["kind"] or not found["message"]["text"].startswith(message["text"]):  # 3.27.10, .11
            fail(f"{name}: {found['level']}, {found['message']}")
        if message["help"] and message["help"] not in found["message"]["text"]:
            fail(f"{name}: the help is missing")
        if len(found["locations"]) != (1 if message["line"] else 0):  # 3.27.12
            fail(f"{name}: {len(found['locations'])} locations")
        for location in found["locations"] + found.get("relatedLocations", []):
            check_location(name, location, folder)
        if message["line"] and found["locations"][0]["physicalLocation"]["region"]["startLine"] != message["line"]:
            fail(f"{name}: line")
        if bool(message["other"]) != ("relatedLocations" in found):  # 3.27.22
            fail(f"{name}: related locations")
    return log


def check_mistakes(work):
    paths = sorted(mistakes.glob("*.yaml"))[::3]  # tests/review goes through all of them
    for path in paths:
        folder = work / path.stem
        folder.mkdir()
        shutil.copy(path, folder)
        ran = run(folder)
        if ran.returncode not in (0, 1) or (ran.returncode == 1) != (": error:" in ran.stderr or ran.stderr.startswith("error")):
            fail(f"{path.stem}: status {ran.returncode}")
        result = check_json(path.stem, folder, spots(ran.stderr))
        check_sarif(path.stem, folder, result)
        codes = re.search(r"\((.*)\)", path.read_text().splitlines()[0])[1].split()
        if sorted({m["code"] for m in result["messages"]}) != codes:
            fail(f"{path.stem}: codes")
        if f"Codes: {', '.join(dict.fromkeys(m['code'] for m in result['messages']))}." not in ran.stdout.replace("\n", " "):
            fail(f"{path.stem}: the text does not end with its codes: {ran.stdout}")
    return len(paths)


def check_characters(work):
    """A region counts characters: what is wide for the eye, or joins the letter before, is one each."""
    folder = work / "wide letters, and a blank"
    folder.mkdir()
    (folder / "pack.yaml").write_text("pack: {name: w, title: 鎖鎖e\u0301, versio: 1}\n")
    result = check_json("wide", folder, spots(run(folder).stderr))
    log = check_sarif("wide", folder, result)
    [found] = log["runs"][0]["results"]
    region = found["locations"][0]["physicalLocation"]
    if region["region"] != {"startLine": 1, "startColumn": 30, "endLine": 1, "endColumn": 36}:
        fail(f"characters: {region}")
    if result["messages"][0]["column"] != 31:  # the wide ones count two each, the joining one nothing
        fail(f"column: {result['messages'][0]}")
    if "wide%20letters%2C%20and%20a%20blank" not in region["artifactLocation"]["uri"]:
        fail(f"uri: {region}")


def check_shipped():
    """The packs that ship are clean: nothing but the note that a search ended."""
    for packs in ([], [top / "rules/charging-basics"], [top / "rules/harbour-lane"]):
        words = packs or [top / "rules"]
        result = json.loads(run("--json", *words, status=0).stdout)
        for error in validator.iter_errors(result):
            fail(f"{words}: {error.json_path}: {error.message}")
        for message in result["messages"]:
            if message["kind"] != "note":
                fail(f"shipped: {message}")


def check_pages():
    for page in sorted((top / "rules/messages").glob("*.md")):
        for code in [page.stem] + ["w171"] * (page.stem == "W171"):
            out = run("--explain", code, status=0).stdout
            if not out.startswith(f"{page.stem}: ") or "Why it matters: " not in out.replace("\n", " "):
                fail(f"--explain {code}: {out[:200]}")
            if max(map(len, (line for line in out.splitlines() if not line.startswith("    ")))) > 80:
                fail(f"--explain {code}: a line over 80")
            for block in re.findall(r"```.*?\n(.*?)```", page.read_text(), re.S):
                if "".join(f"    {line}\n" for line in block.splitlines()) not in out:
                    fail(f"--explain {code}: an example is changed")
    unknown = run("--explain", "W105", status=2)
    if "did you mean 'E105'?" not in unknown.stderr:
        fail(f"--explain W105: {unknown.stderr}")
    if "no message has the code 'lamp'" not in run("--explain", "lamp", status=2).stderr:
        fail("--explain lamp")


def read_until(stream, words, seconds=20):
    text, end = "", time.monotonic() + seconds
    while words not in text:
        if not select.select([stream], [], [], max(0, end - time.monotonic()))[0]:
            fail(f"--watch: '{words}' did not come; so far: {text}")
            return text
        got = os.read(stream.fileno(), 65536).decode()
        if not got:
            fail(f"--watch ended before '{words}': {text}")
            return text
        text += got
    return text


def check_watch(work):
    folder = work / "watched"
    folder.mkdir()
    good = (top / "tests/review/corner-shop/pack.yaml").read_text()
    (folder / "pack.yaml").write_text(good)
    child = subprocess.Popen([command, "rules", "--watch", folder], stdout=subprocess.PIPE, stderr=subprocess.STDOUT)
    waiting = "Ctrl-C ends."
    if "no errors, 0 warnings" not in read_until(child.stdout, waiting):
        fail("--watch: the good pack")
    (folder / "notes.txt").write_text("no pack file: nothing is checked for it")
    (folder / "pack.yaml").write_text(good.replace("lamp: {glow: often", "lamp: {glows: often"))
    if "did you mean 'glow'?" not in read_until(child.stdout, waiting):
        fail("--watch: the mistake")
    (folder / "new").write_text(good)  # as editors do that write beside and rename
    os.rename(folder / "new", folder / "pack.yaml")
    if "no errors, 0 warnings" not in read_until(child.stdout, waiting):
        fail("--watch: mended")
    child.send_signal(signal.SIGINT)
    if child.wait(20) != 0:
        fail(f"--watch: Ctrl-C leaves with {child.returncode}")
    if "take one of them" not in run("--watch", "--json", folder, status=2).stderr:
        fail("--watch --json")


def main():
    with tempfile.TemporaryDirectory() as name:
        work = pathlib.Path(name)
        count = check_mistakes(work)
        check_characters(work)
        check_watch(work)
    check_shipped()
    check_pages()
    if validator.is_valid({"packs": [], "errors": 0, "warnings": 0, "notes": 0, "messages": [{}]}):
        fail("the schema lets through what it must not")
    print("\n".join(failures))
    print(f"{count} mistakes as JSON and SARIF, {len(failures)} failures")
    return 1 if failures or count < 20 else 0


sys.exit(main())
