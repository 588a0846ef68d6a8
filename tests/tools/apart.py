#!/usr/bin/env python3
"""'corewright apart': its JSON against the schema and in itself, the matrix against the JSON, 80 columns, what is refused.
Usage: apart.py COMMAND SOURCE_DIR"""
import json
import os
import pathlib
import subprocess
import sys
import tempfile
import unicodedata
import xml.etree.ElementTree as xml

import jsonschema

command, top = os.path.abspath(sys.argv[1]), pathlib.Path(sys.argv[2]).absolute()
SHOP, HARBOUR = top / "tests/session/shop", top / "rules/harbour-lane"
schema = json.loads((top / "rules/schema/apart.schema.json").read_text())
jsonschema.Draft202012Validator.check_schema(schema)
validator = jsonschema.Draft202012Validator(schema)
SVG = "{http://www.w3.org/2000/svg}"
LETTERS = {"counter": "C", "vehicle": "V", "bench": "B", "teardown": "T"}
wrong = 0


def check(holds, words):
    global wrong
    if not holds:
        wrong += 1
        print(words)


def run(*words, status=0, says=""):
    done = subprocess.run([command, "apart", *map(str, words)], capture_output=True, text=True,
                          env={**os.environ, "LC_ALL": "C.UTF-8", "COREWRIGHT_PACKS": str(SHOP)})
    check(done.returncode == status, f"{words}: status {done.returncode}, not {status}\n{done.stderr[-1000:]}")
    check(says in done.stderr if says else not done.stderr, f"{words}: {done.stderr}")
    return done.stdout


def columns(line):
    return sum(2 if unicodedata.east_asian_width(c) in "WF" else 1 for c in line)


def check_kind(kind, sure, words):
    """Counts are those of the list; ways are as sure as they say; nobody stands in two groups of one place."""
    count = len(kind["members"])
    ids = {member["id"] for member in kind["members"]}
    check(kind["pairs"] == count * (count - 1) // 2 == sum(kind["counts"].values()), f"{words}: pairs")
    check(kind["all_listed"] and len(kind["list"]) == kind["pairs"], f"{words}: the list")
    for told, number in kind["counts"].items():
        check(number == sum(pair["told"] == told for pair in kind["list"]), f"{words}: {told}")
    for pair in kind["list"]:
        certainty = pair["way"]["certainty"] if pair["way"] else 0.5
        check((certainty >= sure - 1e-6) == (pair["told"] in ("one", "several")), f"{words}: {pair}")
        check(set(pair["between"]) <= ids and len(set(pair["between"])) == 2, f"{words}: {pair}")
    alike = {frozenset(pair["between"]) for pair in kind["list"] if pair["told"] == "nothing"}
    grouped = {frozenset((a, b)) for group in kind["groups"] if group["only"] is None
               for a in group["members"] for b in group["members"] if a < b}
    check(alike == grouped, f"{words}: groups {alike ^ grouped}")
    best = kind["smallest"]
    check(best["exact"] and best["at_least"] == len(best["checks"]) <= best["of"], f"{words}: smallest {best}")
    check({c["place"] for c in best["checks"]} <= set(best["places"]), f"{words}: places of {best}")


def ask(*words):
    text = run(*words, "--json")
    check(text == run(*words, "--json"), f"{words}: not the same twice")
    result = json.loads(text)
    for error in validator.iter_errors(result):
        check(False, f"{words}: {error.json_path}: {error.message[:300]}")
    for kind in ("units", "causes"):
        if result[kind]:
            check_kind(result[kind], result["sure"], words)
    return result


def check_matrix(folder, option, kind, *words):
    """One square for every two, with the letter of the place, or = ; each kind of square has a ground of its own."""
    path = pathlib.Path(folder) / "matrix.svg"
    run(*words, option, "--svg", path)
    root = xml.parse(path).getroot()
    squares = root.findall(f"{SVG}g")
    titles = {member["id"]: member["title"] for member in kind["members"]}
    right = {}
    for pair in kind["list"]:
        name = " | ".join(titles[x] for x in pair["between"])
        right.setdefault(name, []).append((pair["told"], LETTERS[pair["way"]["place"]] if pair["way"] else "="))
    grounds = {}
    check(len(squares) == len(kind["list"]), f"{words}: {len(squares)} squares")
    for square in squares:
        name = square.find(f"{SVG}title").text.split(": ")[0]
        told = [x for x in right.get(name, []) if x[1] == square.find(f"{SVG}text").text]
        check(told, f"{words}: {name} has the letter {square.find(f'{SVG}text').text}, not {right.get(name)}")
        if told:
            grounds.setdefault(told[0][0], set()).add(square.find(f"{SVG}rect").get("fill"))
    patterns = {"#" + pattern.get("id") for pattern in root.iter(f"{SVG}pattern")}
    check(all(len(ground) == 1 for ground in grounds.values()), f"{words}: grounds {grounds}")
    for told, fill in (("several", "url(#several)"), ("less_surely", "url(#less)")):
        check(grounds.get(told, {fill}) == {fill} and fill[4:-1] in patterns, f"{words}: {told} is {grounds.get(told)}")


def check_groups():
    """A look that parts two need not part all that stand together."""
    said = " ".join(run(HARBOUR, "--units").split())
    check("Sanderling 80 A small rings Parts some of them: Bore of the ring-end bearing (teardown)" in said, said[:2000])
    said = " ".join(run(SHOP, "--units").split())
    check("Parts some of them" not in said, said)


def main():
    check_groups()
    harbour = ask(HARBOUR, "--units")
    check(harbour["causes"] is None and harbour["sure"] == 0.95, "units alone")
    only = [group["members"] for group in harbour["units"]["groups"] if group["only"] == "teardown"]
    check(only == [["sanderling_large_ring", "sanderling_neutral", "sanderling_small_ring"]], f"only teardown: {only}")
    near = ask(HARBOUR, "--units", "--place", "counter", "--place", "vehicle", "--sure", "80")
    check(near["places"] == ["counter", "vehicle"] and near["sure"] == 0.8, "places and certainty")
    check([only[0], None] in [[group["members"], group["only"]] for group in near["units"]["groups"]], f"without teardown: {near['units']['groups']}")
    check(all(c["place"] in ("counter", "vehicle") for pair in near["units"]["list"] if pair["way"] for c in pair["way"]["checks"]),
          "a check at a place that is not allowed")
    shop = ask()
    check(shop["units"] and shop["causes"], "both kinds where none is named")
    check(not validator.is_valid(dict(shop, surprise=1)) and not validator.is_valid(dict(shop, units={})), "the schema is too weak")
    for words in ((), (HARBOUR, "--units"), ("--place", "counter"), (HARBOUR, "--units", "--place", "counter")):
        for line in run(*words).splitlines():
            check(columns(line) <= 80, f"{words}: more than 80 columns: {line}")
    with tempfile.TemporaryDirectory() as folder:
        check_matrix(folder, "--units", harbour["units"], HARBOUR)
        check_matrix(folder, "--units", near["units"], HARBOUR, "--place", "counter", "--place", "vehicle", "--sure", "80")
        check_matrix(folder, "--causes", shop["causes"])
        run("--svg", f"{folder}/x.svg", status=2, says="--svg draws units or causes, not both\nhelp: add --units or --causes")
        run("--units", "--svg", f"{folder}/nowhere/x.svg", status=2, says="nowhere/x.svg")
        run("--units", "--svg", "/dev/full", status=3, says="could not be written whole")
        lone = pathlib.Path(folder) / "lone"
        lone.mkdir()
        (lone / "pack.yaml").write_text("pack: {name: lone, title: Lone, version: 1}\nchecks:\n  a: {ask: a?, title: A, place: counter, minutes: 1}\n"
                                        "units: {u: {title: U, source: s, signs: {a: yes}}}\n")
        check("Units: 1, two by two 0" in run(lone), "one unit alone")
        run(lone, "--svg", f"{folder}/x.svg", status=2, says="there are no two of a kind to draw")
    run("--place", "benhc", status=2, says="'benhc' is not a place\nhelp: did you mean 'bench'?")
    run("--sure", "100", status=2, says="--sure is to be between 51 and 99.9, not 100")
    run("/nowhere", status=2, says="/nowhere")
    print(f"{wrong} wrong")
    return 1 if wrong else 0


sys.exit(main())
