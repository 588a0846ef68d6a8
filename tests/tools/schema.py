#!/usr/bin/env python3
"""Every JSON that the command prints holds to rules/schema/result.schema.json: for each corpus case, for the small shop with
conflicts, cautions, doubts and hints, and with nothing told. Usage: schema.py COMMAND SOURCE_DIR [EVERY]: of the corpus
then one case in so many, for a command that is slow"""
import concurrent.futures
import json
import os
import pathlib
import re
import subprocess
import sys

import jsonschema

command, top = sys.argv[1], pathlib.Path(sys.argv[2])
every = int(sys.argv[3]) if len(sys.argv) > 3 else 1
schema = json.loads((top / "rules/schema/result.schema.json").read_text())
jsonschema.Draft202012Validator.check_schema(schema)
validator = jsonschema.Draft202012Validator(schema)
steps_schema = json.loads((top / "rules/schema/steps.schema.json").read_text())
jsonschema.Draft202012Validator.check_schema(steps_schema)
# What it takes from the schema beside it, put in its place.
for key, value in steps_schema["properties"].items():
    if value.get("$ref", "").startswith("result.schema.json#"):
        steps_schema["properties"][key] = schema["properties"][value["$ref"].rsplit("/", 1)[1]]
steps_validator = jsonschema.Draft202012Validator({**steps_schema, "$defs": {**schema["$defs"], **steps_schema["$defs"]}})
SHOP = top / "tests/session/shop"
wrong = 0


def answer(stage, *words, packs=SHOP, text=None, status=0):
    run = subprocess.run([command, stage, "--json", *map(str, words)], input=text, capture_output=True, text=True,
                         env={**os.environ, "COREWRIGHT_PACKS": str(packs)})
    if run.returncode != status:
        return fail(f"{stage} {words}: status {run.returncode}\n{run.stderr}")
    result = json.loads(run.stdout)
    for error in (steps_validator if stage == "reassemble" else validator).iter_errors(result):
        fail(f"{stage} {words}: {error.json_path}: {error.message}")
    check_texts(result)
    return result


def fail(words):
    global wrong
    wrong += 1
    print(words)
    return {}


def texts(value):
    if isinstance(value, str):
        yield value
    elif isinstance(value, (dict, list)):
        for part in value.values() if isinstance(value, dict) else value:
            yield from texts(part)


def check_texts(result):
    """Sentences are set as a printer would set them, and name nothing twice running."""
    for text in texts({key: value for key, value in result.items() if key != "answers"}):
        if re.search(r" [,;:.](?![\d.])", text):
            fail(f"a blank before a mark: {text}")
        twice = re.search(r"(?:from|,) ([^,.]{9,}) and \1[.,]", text)
        if twice:
            fail(f"named twice: {text}")


def near(a, b):
    return abs(a - b) < 1e-9


def check_sums(result):
    """Probabilities are honest: units and "not listed" add up; a part is no less probable than its likeliest cause."""
    if "not_listed" in result:
        if result["ranking"] and not near(sum(x["probability"] for x in result["ranking"]) + result["not_listed"], 1):
            fail("units and not listed do not add up to 1")
    elif result.get("ranking"):
        if not near(result["no_fault"] + result["unit_at_fault"], 1):
            fail("no_fault and unit_at_fault do not add up to 1")
        for part in result["parts"]:
            most = max(x["probability"] for x in result["ranking"] if x["part"] == part["part"])
            if part["probability"] < most - 1e-9:
                fail(f"part {part['part']} is less probable than one of its causes")
    for line in result.get("ranking", []):
        if not line["low"] <= line["probability"] <= line["high"]:
            fail(f"{line['id']}: not within its bounds")


def answer_case(case):
    said = re.search(r"^stage: (\w+)", case.read_text(), re.M)
    stage = said[1] if said else "triage"
    failed = re.search(r"^  proof: failed$", case.read_text(), re.M)
    return answer(stage, "--case", case, packs=top / "rules/harbour-lane", status=1 if failed else 0)


def answer_opened():
    """The open unit: a doubt, a part still open, a chain of later parts, a finding that nothing explains."""
    shop = top / "tests/session/opened"
    empty = answer("teardown", packs=shop)
    if empty.get("explained", 0) is not None or [p["verdict"] for p in empty["work"]] != ["replace", "replace", "open", "open"]:
        fail("with nothing told, what is not always changed is open, and there is nothing to explain")
    opened = answer("teardown", "--answer", "lamp=on", "--answer", "brush_length=3 mm", "--answer", "ring_diameter=14.01 mm",
                    "--answer", "ring_groove[outer]=light", "--answer", "smell=yes", "--answer", "rotor_ohms=3 ohm", packs=shop)
    work = {part["part"]: part for part in opened["work"]}
    rings = work["slip_rings"]
    if (rings["verdict"], rings["so_far"], rings["doubtful"]) != ("open", "replace", True):
        fail(f"slip rings: {rings}")
    if [m["check"] for m in rings["measure"]] != ["ring_groove[inner]", "ring_run_out"]:
        fail(f"still to measure: {rings['measure']}")
    if work["rotor"]["verdict"] != "reuse" or work["rotor"]["why"]["rule"] != "rotor_good":
        fail(f"rotor: {work['rotor']}")
    if [p["part"] for p in work["brushes"]["later"]] != ["brushes_second", "brushes_third"] or work["brushes"]["cost"] != 7.4:
        fail(f"brushes: {work['brushes']}")
    if not near(opened["cost"]["replace"], 7.4) or not near(opened["cost"]["at_most"], 7.4 + 18.5):
        fail(f"cost: {opened['cost']}")
    if opened["explained"] is not False or [f["fact"] for f in opened["unexplained"]] != ["smell"]:
        fail(f"unexplained: {opened['unexplained']}")
    if opened["next"][0]["part"] != "slip_rings":
        fail(f"next: {opened['next'][0]}")
    check_sums(opened)
    return opened


def answer_proving():
    """The bench: nothing told, a failed sheet with a doubt and something missing, a passed one, a stop."""
    shop = top / "tests/session/proving"
    empty = answer("proof", packs=shop)
    if empty["proof"]["result"] != "open" or {x["verdict"] for x in empty["proof"]["lines"]} != {"open"}:
        fail(f"with nothing told every line is open: {empty['proof']}")
    if (empty["next"][0]["check"], empty["next"][0].get("line")) != ("cut_in", "cut_in_line"):
        fail(f"next: {empty['next'][0]}")
    failed = answer("proof", "--answer", "rated_amps=can't tell", "--answer", "volts=14.02 V", "--answer", "growl=yes",
                    packs=shop, status=1)
    lines = {line["fact"]: line for line in failed["proof"]["lines"]}
    if failed["proof"]["result"] != "failed" or (lines["noise_line"]["verdict"], lines["noise_line"]["why"]["rule"]) != ("fail", "growls"):
        fail(f"failed: {failed['proof']}")
    if (lines["output_line"]["untold"], [m["check"] for m in lines["output_line"]["measure"]]) != (["rated_amps"], []):
        fail(f"untold: {lines['output_line']}")
    if not lines["volts_line"]["doubtful"] or lines["volts_line"]["readings"][0]["shown"] != "14.02 V":
        fail(f"in doubt: {lines['volts_line']}")
    if [line["fact"] for line in lines.values() if not line["needed"]] != ["trace_line"]:
        fail("the trace alone can be left out")
    passed = answer("proof", "--answer", "rated_amps=90 A", "--answer", "volts=14.3 V", "--answer", "growl=no", "--answer",
                    "rattle=no", "--answer", "cut_in=1200 rpm", "--answer", "full_amps=95 A", "--answer", "pulley=solid",
                    "--answer", "tag=A 1", packs=shop)
    if passed["proof"]["result"] != "passed":
        fail(f"passed: {passed['proof']}")
    stopped = answer("proof", "--answer", "high_volts=yes", packs=shop)
    if stopped["proof"] != {"result": "open", "lines": []} or stopped["stop"] != "caution":
        fail(f"stopped: {stopped['proof']}")
    return failed


def answer_assembled():
    """Steps: all kinds of them, those of the shop, and none."""
    shop = top / "tests/session/assembled"
    empty = answer("reassemble", packs=shop)
    names = [s["step"] for s in empty["steps"]]
    if names != "ring rotor coat_rings brushes close pin_out wax_out dowel spin pump".split():
        fail(f"steps: {names}")
    if [s["step"] for s in empty["steps"] if s["applies"] == "perhaps"] != ["coat_rings", "pin_out", "wax_out", "pump"]:
        fail("what is perhaps done")
    told = answer("reassemble", "--answer", "holder_look=pinned", "--answer", "rotor_ohms=900 ohm", packs=shop)
    steps = {s["step"]: s for s in told["steps"]}
    if steps["pin_out"]["instead_of"] != "close" or "close" in steps or "wax_out" in steps:
        fail(f"in another's place: {list(steps)}")
    if (steps["rotor"]["verdict"], steps["rotor"]["fitted"], steps["brushes"]["fitted"]) != ("replace", "Rotor", "Late brushes"):
        fail(f"what goes in: {steps['rotor']}")
    if steps["pump"]["told_by"] != ["cover", "spline"] or steps["pin_out"]["comes_back_as"][0]["cause"] != "pin_left":
        fail(f"the pump: {steps['pump']}")
    if not all(answer("reassemble", packs=top / "rules" / pack)["stopped"] is False for pack in ("charging-basics", "harbour-lane")):
        fail("the shipped packs stop for no reason")
    if steps_validator.is_valid(dict(told, surprise=1)) or steps_validator.is_valid(dict(told, steps=[dict(told["steps"][0], applies="no")])):
        fail("the schema of steps lets through what it must not")
    slips = answer("triage", "--answer", "lamp=on", packs=shop)["plan"][0]["slips"]
    if [s["step"] for s in slips] != ["close"]:
        fail(f"slips: {slips}")


def answer_described():
    """A unit that no list has: lines by answer, by rule and in dispute, missing ones with what would tell them."""
    shop = top / "tests/session/described"
    result = answer("identify", "--answer", "bolts=2", "--answer", "stack=80 mm tape", "--answer", "grooves=6", "--answer", "pitch=3.56 mm",
                    "--answer", "plate=28V 45A", "--answer", "regulator_text=VR 12V", "--answer", "bearing_mark=can't tell", packs=shop)
    lines = {line["fact"]: line for heading in result["description"] for line in heading["lines"]}
    if result["unlisted"] is not True or [h["heading"] for h in result["description"]] != ["drive", "electrical", "inside"]:
        fail(f"headings: {result['description']}")
    belt, volts, bearing, stack = (lines[name] for name in ("belt", "volts", "bearing", "stack"))
    if (belt["value"], belt["known_by"], belt["rule"], [s["check"] for s in belt["swapped"]]) != ("six_pk", "rule", "six", ["grooves"]):
        fail(f"belt: {belt}")
    if (volts["value"], volts["known_by"], volts["sides"], volts["contested"]) != (None, "conflict", ["12 V", "24 V"], True):
        fail(f"volts: {volts}")
    if (bearing["known_by"], bearing["untold"], [t["place"] for t in bearing["tells"]]) != (None, True, ["teardown"]):
        fail(f"bearing: {bearing}")
    if (stack["known_by"], stack["tool"]) != ("answer", "tape"):
        fail(f"stack: {stack}")
    if [(n["check"], n.get("line")) for n in result["next"]] != [("pulley", "pulley")]:
        fail(f"next: {result['next']}")
    listed = answer("identify", "--answer", "bolts=4", "--answer", "stack=30 mm caliper", "--answer", "grooves=6", packs=shop)
    if listed["unlisted"] is not False or not listed["description"]:
        fail("a unit of the list has a description too, but is not unlisted")
    return result


def main():
    cases = sorted((top / "corpus").glob("*/*.yaml"))[::every]
    with concurrent.futures.ThreadPoolExecutor(2) as pool:
        for result in pool.map(answer_case, cases):
            check_sums(result)
    for stage in ("identify", "triage"):
        check_sums(answer(stage))
    rich = answer("triage", "--words", "lamp glows, squeals", "--answer", "belt_feel=firm", "--answer", "squeal=no", "--answer",
                  "belt_glaze=yes", "--answer", "ripple=0.51 V", "--answer", "rib_count=6", "--answer", "bolt_spacing=112 mm")
    if not (rich.get("conflicts") and rich.get("hints") and any(f["doubtful"] for f in rich.get("facts", []))):
        fail("the rich case lacks a conflict, a hint or a doubt")
    stopped = answer("triage", "--answer", "high_volts=yes")
    if stopped.get("stop") != "caution" or stopped.get("ranking") or not stopped.get("cautions"):
        fail("a stop caution must end the advice")
    described = answer_described()
    if any(validator.is_valid({k: v for k, v in described.items() if k != key}) for key in ("description", "unlisted")):
        fail("the schema does not hold the stage identify to its description")
    opened = answer_opened()
    answer_assembled()
    for key in ("work", "cost", "explained", "unexplained"):
        if validator.is_valid({k: v for k, v in opened.items() if k != key}) or validator.is_valid(dict(rich, **{key: None})):
            fail(f"the schema does not hold '{key}' to the stage teardown")
    proving = answer_proving()
    if validator.is_valid({k: v for k, v in proving.items() if k != "proof"}) or validator.is_valid(dict(rich, proof=proving["proof"])):
        fail("the schema does not hold 'proof' to the stage proof")
    # The schema itself must be able to fail.
    broken = dict(rich, surprise=1)
    if validator.is_valid(broken) or validator.is_valid({k: v for k, v in rich.items() if k != "facts"}):
        fail("the schema lets through what it must not")
    print(f"{len(cases) + 10} answers validated, {wrong} wrong")
    return 1 if wrong or not cases else 0


sys.exit(main())
