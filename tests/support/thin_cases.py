#!/usr/bin/env python3
"""Many labelled cases of a few: each new one is one of the old with some of its answers left out at random, the label kept. For measuring
how replay grows. Usage: thin_cases.py CORPUS FOLDER COUNT [SEED]"""
import json
import pathlib
import random
import sys

import yaml


def main(corpus, folder, count, seed=1):
    r = random.Random(seed)
    old = [case for path in sorted(pathlib.Path(corpus).rglob("*.yaml")) if (case := yaml.load(path.read_text(), yaml.BaseLoader)).get("outcome")]
    for number in range(count):
        case = dict(r.choice(old))
        answers = case.get("answers") or {}
        keep = r.uniform(0.3, 1)
        case["answers"] = {name: value for name, value in answers.items() if name == "unit" or r.random() < keep}
        into = pathlib.Path(folder) / f"{number // 1000:03}"
        into.mkdir(parents=True, exist_ok=True)
        (into / f"{number:06}.yaml").write_text(json.dumps(case, indent=1))  # JSON is YAML


main(sys.argv[1], sys.argv[2], int(sys.argv[3]), *map(int, sys.argv[4:]))
