#!/usr/bin/env python3
"""The JSON of 'corewright listen' and 'corewright scope' holds to its schema, the names in the schemas are those of the rooms and the
packs, and what is said of waves with a known state is that state. Usage: signals.py COMMAND SOURCE_DIR"""
import json
import math
import pathlib
import random
import re
import struct
import subprocess
import sys
import tempfile
import wave

import jsonschema

command, top = sys.argv[1], pathlib.Path(sys.argv[2])
wrong = 0


def fail(words):
    global wrong
    wrong += 1
    print(words)


def load(name):
    schema = json.loads((top / f"rules/schema/{name}.schema.json").read_text())
    jsonschema.Draft202012Validator.check_schema(schema)
    return schema


schemas = {name: load(name) for name in ("listen", "scope")}


def run(name, *words):
    ran = subprocess.run([command, name, *map(str, words), "--json"], capture_output=True, text=True, check=False)
    if ran.returncode != 0:
        fail(f"{name} {words}: {ran.stderr}")
        return {}
    result = json.loads(ran.stdout)
    for error in jsonschema.Draft202012Validator(schemas[name]).iter_errors(result):
        fail(f"{name} {words}: {error.json_path}: {error.message}")
    return result


def named(path, macro):
    return set(re.findall(rf"^{macro}\((\w+)", (top / path).read_text(), re.M))


def choices(check):
    for path in (top / "rules/charging-basics").glob("checks*.yaml"):
        found = re.search(rf"^  {check}:\n(?:    .*\n)*?    choices:\n((?:      .*\n)+)", path.read_text(), re.M)
        if found:
            return set(re.findall(r"^      (\w+):", found[1], re.M))
    return set()


sources = set(schemas["listen"]["$defs"]["source"]["enum"])
states = set(schemas["scope"]["$defs"]["state"]["enum"])
if not sources == named("engine/bench/source.def", "CW_SOURCE") == choices("sound_source"):
    fail(f"sources of a sound differ: {sources} {choices('sound_source')}")
if not states == named("engine/bench/trace.def", "CW_TRACE") == choices("ripple_orders"):
    fail(f"states of a ripple differ: {states} {choices('ripple_orders')}")


def line_volts(turn, gone):
    """Ideal diodes on a resistor: the highest phase that still has its upper diode, less the lowest that has its lower one."""
    volts = [10 * math.sin(2 * math.pi * (turn - k / 3)) for k in range(3)]
    if gone == "phase_open":
        return abs(volts[1] - volts[2])
    upper = volts[1:] if gone == "diode_open" else volts
    return max(upper) - min(volts)


def trace(path, gone, noise):
    dice = random.Random(5)
    with open(path, "w", encoding="ascii") as file:
        for i in range(2000):
            file.write(f"{i * 5e-5:.6f},{line_volts(i * 5e-5 * 200, gone) + dice.gauss(0, noise):.5f}\n")


def recording(path, strikes):
    """Strikes so many times a turn of a rotor at 50 turns a second, each ringing at 3 kHz, in noise."""
    rate, dice = 16000, random.Random(7)
    samples = [dice.uniform(-0.3, 0.3) for _ in range(5 * rate)]
    at = 0.001
    while strikes and at < 4.98:
        start = math.ceil(at * rate)
        for i in range(start, start + 150):
            since = i / rate - at
            samples[i] += 0.4 * math.exp(-since / 1e-3) * math.sin(2 * math.pi * 3000 * since)
        at += 1 / (50 * strikes)
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(rate)
        file.writeframes(b"".join(struct.pack("<h", int(20000 * s)) for s in samples))


with tempfile.TemporaryDirectory() as folder:
    folder = pathlib.Path(folder)
    for gone in ("healthy", "diode_open", "phase_open"):
        trace(folder / "wave.csv", gone, 0.02)
        said = run("scope", folder / "wave.csv")
        if said.get("answers") != [{"check": "ripple_orders", "value": gone}]:
            fail(f"{gone}: {said.get('state')} {said.get('doubt')}")
    dice = random.Random(3)
    (folder / "noise.csv").write_text("".join(f"{i * 5e-5:.6f},{dice.gauss(0, 1):.4f}\n" for i in range(2000)))
    if run("scope", folder / "noise.csv").get("answers") != []:
        fail("noise alone gives an answer")
    # The outer race of a 6203 is met 3.05 times a turn (its published multiple), whichever way the ratio says it.
    for strikes, source in ((3.053, "bearing"), (0, "nothing")):
        recording(folder / "sound.wav", strikes)
        said = run("listen", folder / "sound.wav", "--rpm", 1000, "--ratio", 3)
        if said.get("source") != source or said["answers"][0]["value"] != source:
            fail(f"{source}: {said.get('says')}")
print(f"{wrong} wrong")
sys.exit(1 if wrong else 0)
