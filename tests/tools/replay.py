#!/usr/bin/env python3
"""'corewright replay' against the slow and obvious way: each case answered by itself with 'corewright STAGE --json', places,
scores, calibration and sums worked out again here from the whole rankings. Also: bad files, order and threads, JUnit, exit
statuses, the bar on a terminal. Usage: replay.py COMMAND SOURCE_DIR"""
import collections
import concurrent.futures
import json
import math
import os
import pathlib
import pty
import random
import statistics
import subprocess
import sys
import tempfile
import xml.etree.ElementTree

import jsonschema
import yaml

command, top = os.path.abspath(sys.argv[1]), pathlib.Path(sys.argv[2]).absolute()
SHOP = top / "tests/session/shop"
STAGES = ["identify", "triage", "teardown", "proof"]
FLOOR = 0.001
result_schema = json.loads((top / "rules/schema/result.schema.json").read_text())
schema = json.loads((top / "rules/schema/replay.schema.json").read_text())
jsonschema.Draft202012Validator.check_schema(schema)
schema["properties"]["packs"] = result_schema["properties"]["packs"]
validator = jsonschema.Draft202012Validator(schema)
wrong = 0


def fail(words):
    global wrong
    wrong += 1
    print(words)


def check(holds, words):
    if not holds:
        fail(words)


def near(a, b, words):
    check((a is None) == (b is None) and (a is None or math.isclose(a, b, rel_tol=1e-8, abs_tol=1e-10)), f"{words}: {a}, not {b}")


def run(*words, packs=SHOP, status=None, cwd=None):
    done = subprocess.run([command, *map(str, words)], capture_output=True, text=True, cwd=cwd,
                          env={**os.environ, "COREWRIGHT_PACKS": str(packs), "LC_ALL": "C.UTF-8"})
    if status is not None and done.returncode != status:
        fail(f"{words}: status {done.returncode}, not {status}\n{done.stdout[-2000:]}\n{done.stderr[-2000:]}")
    return done


def replay(*words, packs=SHOP, status=None, cwd=None):
    done = run("replay", "--json", *words, packs=packs, status=status, cwd=cwd)
    result = json.loads(done.stdout)
    for error in validator.iter_errors(result):
        fail(f"replay {words}: {error.json_path}: {error.message}")
    return result


# -- cases of the small shop, made of numbers alone ------------------------------------------------------------------------

GIVEN = {"identify": {"bolt_spacing": lambda r: f"{r.choice([112, 133.35, 90]) + r.gauss(0, 1.5):.2f} mm",
                      "lead_style": lambda r: r.choice(["single", "twin", "none", "can't tell"]),
                      "rib_count": lambda r: r.choice([4, 5, 6, 6]),
                      "marking": lambda r: r.choice(["T9112", "P70", "N12"]),
                      "back_step": lambda r: r.choice(["yes", "no"])},
         "triage": {"lamp_running": lambda r: r.choice(["off", "glow", "flicker", "on"]),
                    "squeal": lambda r: r.choice(["yes", "no"]),
                    "ripple": lambda r: f"{r.choice([0.1, 0.3, 0.51, 1.2])} V",
                    "belt_feel": lambda r: r.choice(["firm", "slack"]),
                    "fitted_ago": lambda r: r.choice(["years", "days"]),
                    "volts_post": lambda r: f"{r.choice([14.2, 14.4])} V",
                    "volts_battery": lambda r: f"{r.choice([13.2, 14.1])} V"}}
TRUTHS = {"identify": ["tern_early", "tern_late", "plover_70", "not_listed"],
          "triage": ["diode_open", "regulator_dead", "belt_slipping", "stator_shorted", "cable_poor", "dead_cell"]}


def make_case(r, number):
    stage = r.choice(["identify", "triage", "triage", "teardown"])
    kind = "identify" if stage == "identify" else "triage"
    checks = r.sample(sorted(GIVEN[kind]), r.randint(0, len(GIVEN[kind])))
    case = {"case": f"made-{number}", "stage": stage, "answers": {name: GIVEN[kind][name](r) for name in checks}}
    if r.random() < 0.06 and kind == "triage":
        case["answers"]["high_volts"] = "yes"
    if r.random() < 0.3:
        case["places"] = ["counter"]
    label = r.sample(TRUTHS[kind], r.choice([1, 1, 2]))
    if r.random() < 0.9:
        case["outcome"] = {"unit": label} if kind == "identify" else {"causes": label}
        if kind == "triage" and r.random() < 0.3:
            case["outcome"]["accept"] = r.sample(TRUTHS[kind], 1)
    return case


def write(folder, name, case):
    path = folder / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(case if isinstance(case, str) else json.dumps(case, indent=1))  # JSON is YAML
    return path


# -- the slow way ------------------------------------------------------------------------------------------------------------

def names(value):
    return value if isinstance(value, list) else [] if value is None else [value]


class Packs:
    def __init__(self, *folders):
        self.minutes, self.where = {"unit": 0}, {}  # which unit it is stands on the job card
        for path in sorted(p for folder in folders for p in folder.glob("*.yaml")):
            content = yaml.safe_load(path.read_text()) or {}
            self.minutes.update({k: v["minutes"] for k, v in (content.get("checks") or {}).items()})
            self.where.update({k: v.get("where") for k, v in (content.get("parts") or {}).items()})


def lines_of(answer):
    """(id, probability, part), as they stand, with "not listed" in its place."""
    lines = [(x["id"], x["probability"], x["part"]) for x in answer["ranking"]]
    if "not_listed" in answer:
        at = sum(1 for x in lines if x[1] >= answer["not_listed"])
        lines.insert(at, ("not_listed", answer["not_listed"], None))
    return lines


def score(stage, answer, outcome, packs):
    lines = lines_of(answer)
    units = stage == "identify"
    truths = names(outcome.get("unit")) if units else names(outcome.get("causes"))
    accept = [] if units else [x for x in names(outcome.get("accept")) if x not in truths]
    ranked = [x for x in lines if stage != "proof" or packs.where[x[2]] == "unit"]
    place = next((i + 1 for i, x in enumerate(ranked) if x[0] in truths + accept), None)
    out = {"first": ranked[0][:2] if ranked else None, "place": place if truths else None, "right": ranked[place - 1][0] if truths and place else None}
    if not truths:
        return out | {"truth": None, "log_loss": None, "brier": None, "pairs": []}
    if units:
        pairs = [(p, 0) for id, p, _ in lines if id not in truths] + [(sum(p for id, p, _ in lines if id in truths), 1)]
        return out | {"truth": pairs[-1][0], "log_loss": -math.log(max(pairs[-1][0], FLOOR)),
                      "brier": sum((p - y) ** 2 for p, y in pairs), "pairs": pairs}
    pairs = [(p, int(id in truths)) for id, p, _ in lines if id not in accept]
    return out | {"truth": statistics.fmean(p for p, y in pairs if y),
                  "log_loss": sum(-math.log(max(p if y else 1 - p, FLOOR)) for p, y in pairs),
                  "brier": sum((p - y) ** 2 for p, y in pairs), "pairs": pairs}


def minutes_of(case, packs):
    return sum(packs.minutes[name.split("[")[0]] for name in case.get("answers") or {})


def compare_case(one, case, want, packs):
    about = one["file"]
    near(one["minutes"], minutes_of(case, packs), f"{about}: minutes")
    check(one["answers"] == len(case.get("answers") or {}), f"{about}: answers")
    near(one["first"]["probability"] if one["first"] else None, want["first"][1] if want["first"] else None, f"{about}: first")
    check((one["right"] or {}).get("place") == want["place"], f"{about}: place {one['right']}, not {want['place']}")
    check((one["right"] or {}).get("id") == want["right"], f"{about}: right {one['right']}, not {want['right']}")
    near(one["truth"] and one["truth"]["probability"], want["truth"], f"{about}: truth")
    near(one["log_loss"], want["log_loss"], f"{about}: log loss")
    near(one["brier"], want["brier"], f"{about}: brier")


def check_bands(bands, pairs, about):
    """Counts by hand; Wilson's bounds by putting them into the equation that they solve."""
    z = statistics.NormalDist().inv_cdf(0.95)
    for i, band in enumerate(bands):
        inside = [(p, y) for p, y in pairs if min(int(p * 10), 9) == i]
        check((band["count"], band["came_true"]) == (len(inside), sum(y for _, y in inside)), f"{about}: band {band}, not {inside}")
        if not inside:
            check((band["low"], band["high"], band["share"]) == (0, 1, None), f"{about}: an empty band {band}")
            continue
        near(band["said"], statistics.fmean(p for p, _ in inside), f"{about}: said")
        share = band["came_true"] / band["count"]
        near(band["share"], share, f"{about}: share")
        for bound in (band["low"], band["high"]):
            near((share - bound) ** 2, z * z * bound * (1 - bound) / band["count"], f"{about}: bound {bound}")
        check(band["low"] <= share <= band["high"] and band["low"] < band["high"], f"{about}: the interval holds its share")


def check_sums(result, scores):
    """scores: the slow ones, by file. Every sum of every stage, and of all."""
    done = [c for c in result["cases"] if c["ended"] != "bad"]
    check([s["stage"] for s in result["stages"]] == [s for s in STAGES if any(c["stage"] == s for c in done)], "stages")
    for sums in [*result["stages"], result["all"]]:
        about = sums["stage"] or "all"
        cases = [c for c in done if sums["stage"] in (None, c["stage"])]
        ranked = [c for c in cases if c["log_loss"] is not None]
        mean = lambda values: statistics.fmean(values) if values else None
        places = [c["right"]["place"] if c["right"] else math.inf for c in ranked]
        check(sums["cases"] == len(cases) and sums["stopped"] == sum(c["ended"] == "stopped" for c in cases), f"{about}: cases")
        check((sums["ranked"], sums["right_first"], sums["right_in_three"]) ==
              (len(ranked), sum(p == 1 for p in places), sum(p <= 3 for p in places)), f"{about}: places")
        check((sums["labelled"], sums["as_labelled"]) == (sum(c["as_labelled"] is not None for c in cases),
                                                          sum(c["as_labelled"] is True for c in cases)), f"{about}: labels")
        near(sums["truth"], mean([c["truth"]["probability"] for c in ranked]), f"{about}: truth")
        for key in ("log_loss", "brier"):
            near(sums[key], mean([c[key] for c in ranked]), f"{about}: {key}")
        for key in ("minutes", "answers"):
            near(sums[key], mean([c[key] for c in cases]), f"{about}: {key}")
        if sums["stage"]:
            check_bands(sums["calibration_of_first"], [(c["first"]["probability"], int(p == 1)) for c, p in zip(ranked, places)], about)
        if sums["stage"] and all(c["file"] in scores for c in ranked):
            check_bands(sums["calibration_of_all"], [pair for c in ranked for pair in scores[c["file"]]["pairs"]], about)
    table = collections.Counter((c["stage"], c["truth"]["id"], c["first"]["id"]) for c in done
                                if c["truth"] and (c["right"] or {}).get("place") != 1)
    check(table == {(m["stage"], m["truth"], m["taken_for"]): m["count"] for m in result["mistakes"]}, f"mistakes: {table}")
    order = [(STAGES.index(m["stage"]), -m["count"], m["truth"], m["taken_for"]) for m in result["mistakes"]]
    check(order == sorted(order), "mistakes are out of order")
    check(result["bad"] == sum(c["ended"] == "bad" for c in result["cases"]), "bad files")


def test_made(folder):
    r = random.Random(20261130)
    packs, scores = Packs(SHOP), {}
    cases = {}
    for number in range(300):
        case = make_case(r, number)
        cases[str(write(folder, f"{r.choice('abc')}/{r.choice(['', 'deep/'])}{r.choice('xyz')}{number:03}.yaml", case))] = case
    result = replay("--ask", folder, status=1)
    check([c["file"] for c in result["cases"]] == sorted(cases, key=lambda f: f.split("/")), "the order of the files")
    check_sums(result, {})
    # A third of them one by one, the slow way.
    part = replay("--ask", folder / "a", status=1)
    files = [c["file"] for c in part["cases"]]
    check(part["cases"] == [c for c in result["cases"] if c["file"] in files], "a part of the whole is the same")
    with concurrent.futures.ThreadPoolExecutor(2) as pool:
        answers = list(pool.map(lambda f: json.loads(run(cases[f]["stage"], "--case", f, "--json", status=0).stdout), files))
    for one, answer in zip(part["cases"], answers):
        case = cases[one["file"]]
        check((one["ended"] == "stopped") == (answer["stop"] == "caution"), f"{one['file']}: stopped")
        if one["ended"] == "stopped":
            continue
        want = scores[one["file"]] = score(case["stage"], answer, case.get("outcome") or {}, packs)
        compare_case(one, case, want, packs)
        enough = 1 if case["stage"] == "identify" else 3
        held = None if want["truth"] is None else want["place"] is not None and want["place"] <= enough
        check(one["as_labelled"] is held, f"{one['file']}: as labelled {one['as_labelled']}, not {held}")
    check_sums(part, scores)
    check(all(s["ranked"] > 15 for s in result["stages"]) and result["all"]["stopped"] > 2 and len(result["mistakes"]) > 15,
          f"the made cases do not try everything: {result['all']}, {len(result['mistakes'])} mistakes")
    return result, cases


def test_asking(result, cases, folder):
    """Step by step: the first of 'next' that the case knows, from nothing; at the counter, so that the place never changes."""
    tried = 0
    for one in result["cases"]:
        case = cases[one["file"]]
        if tried == 8 or case.get("places") != ["counter"] or one["ended"] != "done" or case["stage"] == "teardown" or len(case["answers"]) < 3:
            continue
        tried += 1
        told, minutes = {}, 0
        while True:
            step = write(folder, "step.yaml", {"stage": case["stage"], "answers": told, "places": ["counter"]})
            answer = json.loads(run(case["stage"], "--case", step, "--json", status=0).stdout)
            known = next((n for n in answer["next"] if n["check"] in case["answers"] and n["check"] not in told), None)
            if known is None:
                break
            told[known["check"]] = case["answers"][known["check"]]
            minutes += known["minutes"]
        asking = one["asking"]
        want = score(case["stage"], answer, case.get("outcome") or {}, Packs(SHOP))
        check(asking["checks"] == list(told), f"{one['file']}: asks {asking['checks']}, not {list(told)}")
        check(asking["stop"] == (answer["stop"] or "case_ends"), f"{one['file']}: stops with {asking['stop']}, not {answer['stop']}")
        near(asking["minutes"], minutes, f"{one['file']}: minutes of asking")
        near(asking["first"]["probability"], want["first"][1], f"{one['file']}: first after asking")
        near(asking["log_loss"], want["log_loss"], f"{one['file']}: log loss after asking")
    check(tried == 8, "too few cases to ask")
    for sums in [*result["stages"], result["all"]]:
        asked = [c["asking"] for c in result["cases"] if c["ended"] == "done" and sums["stage"] in (None, c["stage"])]
        near(sums["asking"]["minutes"], statistics.fmean(a["minutes"] for a in asked), "minutes of asking")
        near(sums["asking"]["questions"], statistics.fmean(len(a["checks"]) for a in asked), "questions")
        near(sums["asking"]["truth"], statistics.fmean(a["truth"]["probability"] for a in asked if a["truth"]), "truth after asking")


def test_threads(folder):
    texts, tests = set(), set()
    for threads in (1, 2, 7):
        done = run("replay", "--threads", threads, "--json", "--junit", folder / "t.xml", folder, status=1)
        people = run("replay", "--threads", threads, folder, status=1)
        check(done.stderr == people.stderr == "", "no bar, no word on standard error, but on a terminal")
        texts.add(done.stdout + people.stdout)
        tests.add((folder / "t.xml").read_text())
    check(len(texts) == len(tests) == 1, "the result hangs on the number of threads")
    for line in people.stdout.splitlines():
        check(len(line) <= 80, f"wider than 80 columns: {line}")
    suite = xml.etree.ElementTree.fromstring(tests.pop())[0]
    result = json.loads(done.stdout)
    check([t.get("name") for t in suite] == [c["file"] for c in result["cases"]], "JUnit: the order of the files")
    for test, case in zip(suite, result["cases"]):
        want = {"bad": "error", "stopped": "skipped"}.get(case["ended"]) or {None: "skipped", False: "failure", True: None}[case["as_labelled"]]
        check([c.tag for c in test] == ([want] if want else []), f"JUnit: {case['file']}")
    for key, tag in (("failures", "failure"), ("errors", "error"), ("skipped", "skipped")):
        check(int(suite.get(key)) == len(suite.findall(f"*/{tag}")), f"JUnit: {key}")
    check(int(suite.get("tests")) == len(result["cases"]), "JUnit: tests")


def test_bad(folder):
    good = {"stage": "identify", "answers": {"lead_style": "single", "rib_count": 6}, "outcome": {"unit": ["tern_early", "tern_late"]}}
    write(folder, "a-good.yaml", good)
    check(replay(folder, status=0)["all"]["as_labelled"] == 1, "one good case")
    write(folder, "b-check.yaml", good | {"answers": {"lead_stile": "single"}})
    write(folder, "c-yaml.yaml", "stage: identify\nanswers: [\n")
    write(folder, "d-stage.yaml", {"answers": {"rib_count": 6}})
    write(folder, "e-family.yaml", good | {"outcome": {"unit": "tern"}})
    write(folder, "f-empty.yaml", "")
    write(folder, ".hidden.yaml", "x: [")
    write(folder, "notes.txt", "x: [")
    write(folder, "z-good.yaml", good)
    (folder / "loop").symlink_to(folder)
    done = run("replay", folder, "--junit", folder / "t.xml", status=2)
    for words in ("b-check.yaml:4:3: error: ", "no pack has a check 'lead_stile'", "help: did you mean 'lead_style'?", "c-yaml.yaml:", "d-stage.yaml: error: it names no stage",
                  "e-family.yaml: error: its outcome names a family or a frame"):
        check(words in done.stderr, f"'{words}' is not in:\n{done.stderr}")
    check(done.stderr.index("b-check") < done.stderr.index("c-yaml") < done.stderr.index("d-stage"), "messages out of order")
    check("7 files: 2 as labelled, 0 not, 0 without a label, 0 stopped by a caution, 5 bad." in " ".join(done.stdout.split()), done.stdout)
    result = replay(folder, status=2)
    check([c["ended"] for c in result["cases"]] == ["done"] + ["bad"] * 5 + ["done"], "which are bad")
    check(result["cases"][1]["messages"][0]["code"] == "E400" and result["cases"][1]["messages"][0]["line"] == 4, "the message of a bad case")
    suite = xml.etree.ElementTree.parse(folder / "t.xml").getroot()[0]
    check(suite.get("errors") == "5" and "did you mean 'lead_style'?" in "".join(suite[1].itertext()), "JUnit: bad files")
    # Files by name, and in the order of the call.
    two = replay(folder / "z-good.yaml", folder / "a-good.yaml", status=0)
    check([pathlib.Path(c["file"]).name for c in two["cases"]] == ["z-good.yaml", "a-good.yaml"], "files named")
    check([c["file"] for c in replay(".", cwd=folder, status=2)["cases"]][0] == "./a-good.yaml", "the folder one is in")


def test_calls(folder):
    for words, says in (((), "replay wants a corpus"), (("/no/such",), "/no/such: No such file"), ((SHOP.parent.parent / "house",), "there is no case in"),
                        (("--threads", "0", SHOP), "--threads is to be between 1 and 256, not 0"), (("--threads", "two", SHOP), "--threads wants a plain number"),
                        (("--junit", "/no/such/t.xml", SHOP), "/no/such/t.xml: No such file"), (("--packs", "/no/such", SHOP), "/no/such: No such file")):
        done = run("replay", *words, status=2)
        check(says in done.stderr and done.stdout == "", f"'{says}' is not in: {done.stderr}")
    write(folder, "one.yaml", {"stage": "triage", "answers": {}})
    check("could not be written whole" in run("replay", folder, "--junit", "/dev/full", status=3).stderr, "a full disk")
    with open("/dev/full", "w") as full:
        done = subprocess.run([command, "replay", "--packs", SHOP, folder], stdout=full, stderr=subprocess.DEVNULL)
    check(done.returncode == 3, f"standard output that is full: {done.returncode}")


def test_terminal(folder):
    """The bar is on standard error, and only where that is a terminal."""
    ours, theirs = pty.openpty()
    process = subprocess.Popen([command, "replay", folder], stdout=subprocess.PIPE, stderr=theirs, env={**os.environ, "COREWRIGHT_PACKS": str(SHOP)})
    os.close(theirs)
    seen = b""
    try:
        while piece := os.read(ours, 65536):
            seen += piece
    except OSError:  # the other end is gone
        pass
    out = process.communicate()[0].decode()
    check(b"####" in seen and b"100 % of" in seen and seen.endswith(b"\r"), f"the bar: {seen[-200:]}")
    check("####" not in out, "the bar is on standard output")


def test_shipped():
    """Of the corpus that ships: units with descriptions, open units, sheets. Every so often a case is held against the slow way."""
    packs = Packs(top / "rules/charging-basics", top / "rules/harbour-lane")
    result = replay(*(top / "corpus" / name for name in ("identify", "proof", "teardown")), packs=top / "rules/harbour-lane", status=0)
    check_sums(result, {})
    by_hand = {"sheets": 0, "lines": 0}
    for at, one in enumerate(result["cases"]):
        case = yaml.safe_load(pathlib.Path(one["file"]).read_text())
        outcome = case.get("outcome") or {}
        by_hand["sheets"] += "proof" in outcome and case["stage"] == "proof"
        by_hand["lines"] += len(outcome.get("description") or {})
        check(one["wrong"] == [], f"{one['file']}: {one['wrong']}")  # as tests/corpus demands
        if at % 50 == 0 or (case["stage"] == "proof" and "causes" in outcome and at % 3 == 0):
            answer = json.loads(run(case["stage"], "--case", one["file"], "--json", packs=top / "rules/harbour-lane").stdout)
            compare_case(one, case,
                         score(case["stage"], answer, outcome, packs), packs)
    check((result["all"]["sheets"], result["all"]["description_lines"]) == (by_hand["sheets"], by_hand["lines"]) and min(by_hand.values()) > 20,
          f"sheets and lines: {by_hand}")


def test_wrong_lines(folder):
    """A sheet and a description that do not come out as labelled: what each line says."""
    sheet = {"stage": "proof", "answers": {"rated_amps": "can't tell", "volts": "14.02 V", "growl": "yes"},
             "outcome": {"proof": "passed", "lines": ["volts_line", "cut_in_line"]}}
    write(folder, "sheet.yaml", sheet)
    one = replay(folder / "sheet.yaml", packs=top / "tests/session/proving", status=1)["cases"][0]
    check([(w["of"], w["fact"], w["says"], w["label"]) for w in one["wrong"]] ==
          [("sheet", None, "failed", "passed"), ("sheet", "cut_in_line", "open", "fail"), ("sheet", "noise_line", "fail", "pass")], f"sheet: {one['wrong']}")
    unit = {"stage": "identify", "answers": {"grooves": 6, "pitch": "3.56 mm", "plate": "28V 45A", "regulator_text": "VR 12V"},
            "outcome": {"description": {"belt": "six_pk", "volts": "12 V", "bearing": "none"}}}
    write(folder, "unit.yaml", unit)
    one = replay(folder / "unit.yaml", packs=top / "tests/session/described", status=1)["cases"][0]
    check([(w["of"], w["fact"], w["says"], w["label"]) for w in one["wrong"]] ==
          [("description", "volts", "dispute", "12 V"), ("description", "bearing", "missing", "none")], f"description: {one['wrong']}")
    check((one["as_labelled"], one["description_lines"]) == (False, 3), "the description counts")


def main():
    with tempfile.TemporaryDirectory(prefix="cw-replay-") as scratch:
        scratch = pathlib.Path(scratch)
        made = scratch / "made"
        result, cases = test_made(made)
        test_asking(result, cases, scratch)
        test_threads(made)
        test_terminal(made)
        test_bad(scratch / "bad")
        test_calls(scratch / "calls")
        test_wrong_lines(scratch / "lines")
        test_shipped()
    if validator.is_valid(dict(result, surprise=1)) or validator.is_valid({k: v for k, v in result.items() if k != "all"}):
        fail("the schema lets through what it must not")
    print(f"{len(cases)} made cases, {wrong} wrong")
    return 1 if wrong else 0


sys.exit(main())
