#!/usr/bin/env python3
"""Holds every pack of the tree against rules/schema/pack.schema.json, the schema against the keys that the reader
knows (engine/pack/shape.def, section.def), and sees that mistakes of shape are refused. Argument: top of the tree."""
import json
import pathlib
import re
import sys

import jsonschema
import yaml

top = pathlib.Path(sys.argv[1])
schema = json.loads((top / "rules/schema/pack.schema.json").read_text())
validator = jsonschema.Draft202012Validator(schema)
jsonschema.Draft202012Validator.check_schema(schema)
failures = []


def load(path):
    # Packs are read plainly, by libyaml: every word stays a word.
    return yaml.load(path.read_text(), Loader=getattr(yaml, "CBaseLoader", yaml.BaseLoader))


def first_error(data):
    return next((f"{'/'.join(map(str, e.absolute_path))}: {e.message[:200]}" for e in validator.iter_errors(data)), None)


packs = sorted(p for folder in ("rules", "tests/outside") for p in (top / folder).glob("**/*.yaml")
               if (p.parent / "pack.yaml").exists())
if len(packs) < 10:
    failures.append(f"only {len(packs)} pack files found")
for path in packs:
    error = first_error(load(path))
    if error:
        failures.append(f"{path}: {error}")

# Editors that know the open convention find the schema by the first line of each pack that ships.
for path in packs:
    if top / "rules" not in path.parents:
        continue
    first = path.read_text().split("\n", 1)[0]
    told = re.fullmatch(r"# yaml-language-server: \$schema=(\S+)", first)
    if not told or (path.parent / told[1]).resolve() != (top / "rules/schema/pack.schema.json").resolve():
        failures.append(f"{path}: its first line does not lead to the schema: {first}")

refused = """unknown-section unknown-key unknown-key-far comma-in-braces missing-key missing-keys-of-a-check scalar-for-a-map
list-for-a-text empty-text bad-name choice-with-capital frequency-word frequency-bare-number condition-empty any-of-nothing
rule-concludes-nothing place-unknown stage-unknown where-unknown yes-or-no dimension-unknown things-empty pack-name pack-version
choices-too-many begins-no-condition condition-a-word
swapped-with-nothing swapped-bad-name step-missing-keys price-wrong heading-lacks heading-order-a-word heading-of-nothing heading-facts-a-map
read-without-like read-without-source read-key-unknown costs-place-unknown costs-comeback-a-number plan-minutes-words learned-without-source learned-key-unknown""".split()
for name in refused:
    if first_error(load(top / f"tests/pack/bad/{name}.yaml")) is None:
        failures.append(f"tests/pack/bad/{name}.yaml is let through")

# The schema's keys are the reader's keys.
where = {"likeness": None}  # {like: pattern} as a test is left open in the schema
shapes = {}
for line in (top / "engine/pack/shape.def").read_text().splitlines():
    key = re.match(r"KEY\((\w+), (\w+), (\w+)\)", line)
    if key:
        shapes.setdefault(key[1], {})[key[2]] = key[3] == "true"
for shape, keys in shapes.items():
    if where.get(shape, shape) is None:
        continue
    found = schema["$defs"][shape]
    if set(found["properties"]) != set(keys):
        failures.append(f"keys of {shape} differ: {set(found['properties']) ^ set(keys)}")
    if set(found.get("required", [])) != {k for k, needed in keys.items() if needed}:
        failures.append(f"required keys of {shape} differ")
sections = set(re.findall(r"^SECTION\((\w+),", (top / "engine/pack/section.def").read_text(), re.M)) | {"pack"}
if set(schema["properties"]) != sections:
    failures.append(f"sections differ: {set(schema['properties']) ^ sections}")


def undescribed(node, path):
    if isinstance(node, dict):
        for name, value in node.get("properties", {}).items():
            target = value
            if "description" not in value and "$ref" in value:
                target = schema["$defs"][value["$ref"].rsplit("/", 1)[1]]
            if not target.get("description"):
                failures.append(f"{path}/{name} has no description")
        for name, value in node.items():
            undescribed(value, f"{path}/{name}")
    elif isinstance(node, list):
        for i, value in enumerate(node):
            undescribed(value, f"{path}/{i}")


undescribed(schema, "")
for failure in failures:
    print(failure)
print(f"{len(packs)} files, {len(refused)} mistakes, {len(shapes)} shapes, {len(failures)} failures")
sys.exit(1 if failures else 0)
