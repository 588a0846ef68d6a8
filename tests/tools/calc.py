#!/usr/bin/env python3
"""Every example that 'corewright calc' lists runs as it is printed; its JSON holds to rules/schema/calc.schema.json and says what the
screen says. Usage: calc.py COMMAND SOURCE_DIR"""
import json
import pathlib
import shlex
import subprocess
import sys

import jsonschema

command, top = sys.argv[1], pathlib.Path(sys.argv[2])
schema = json.loads((top / "rules/schema/calc.schema.json").read_text())
jsonschema.Draft202012Validator.check_schema(schema)
validator = jsonschema.Draft202012Validator(schema)
wrong = 0


def fail(words):
    global wrong
    wrong += 1
    print(words)


def run(*words):
    return subprocess.run([command, *words], capture_output=True, text=True, check=False)


def joined(text):
    return " ".join(text.split())


def check(words):
    seen, told = run(*words), run(*words, "--json")
    if seen.returncode != 0 or told.returncode != 0:
        fail(f"{words}: {seen.stderr}{told.stderr}")
        return
    result = json.loads(told.stdout)
    for error in validator.iter_errors(result):
        fail(f"{words}: {error.json_path}: {error.message}")
    for line in result["lines"]:
        if joined(line["label"]) not in joined(seen.stdout):
            fail(f"{words}: '{line['label']}' is not on the screen")
        if "value" in line and line["unit"] and not line["words"].split(" (")[0].endswith(line["unit"]):
            fail(f"{words}: '{line['words']}' is not in {line['unit']}")


listed = [line.strip() for line in run("calc").stdout.splitlines() if line.startswith("  corewright calc ")]
if len(listed) < 14:
    fail(f"only {len(listed)} examples are listed")
for example in listed:
    check(shlex.split(example)[1:])
print(f"{len(listed)} calculations, {wrong} wrong")
sys.exit(1 if wrong else 0)
