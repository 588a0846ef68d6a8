#!/usr/bin/env python3
"""begin: what it writes, byte for byte beside what a person would have written there; what it refuses; that nothing is
written where it stops. What is written is read back by PyYAML. Usage: begin.py COMMAND SOURCE_DIR"""
import os
import pathlib
import random
import resource
import shlex
import signal
import subprocess
import sys
import tempfile
import time

import yaml

command, top = sys.argv[1], pathlib.Path(sys.argv[2])
failures = []

HEADER = "pack: {name: corner, title: Corner shop (invented), version: 1}\n"
CHECKS = """checks:
  lamp:
    title: Charge lamp
    ask: Lamp?
    choices: [off, glow, on]
    place: vehicle
    minutes: 1
  span:
    title: Bolt span
    ask: How far?
    how: Straight across.
    measure: length
    unit: mm
    range: 60 mm to 200 mm
    reading_error: 1 mm
    place: counter
    minutes: 1
  plate:
    title: Plate
    ask: What does it say?
    text: yes
    place: counter
    minutes: 1
parts:
  rotor: {title: Rotor winding, where: unit}
  belt: {title: Drive belt, where: vehicle}
"""
CAUSE = ["name=dark", "title=Rotor dark", "part=rotor", "seen=3 of 100", "sign=lamp: {on: often}", "source=from memory"]
BLOCK = """  dark:
    title: Rotor dark
    part: rotor
    # a first guess, until closed jobs say better
    seen: 3 of 100
    signs:
      # how often this alone makes it so; what is left is the normal value
      lamp: {on: often}
    source: from memory
"""
NEIGHBOUR = "  loose: {title: Belt loose, part: belt, seen: 2 %, signs: {lamp: {glow: often}}, source: s}\n"


def fail(words):
    failures.append(words)


def run(*words, text="", **more):
    return subprocess.run([command, "begin", *map(str, words)], input=text, capture_output=True, text=True, **more)


def expect(name, got, wanted):
    if got != wanted:
        fail(f"{name}: got\n{got}\nexpected\n{wanted}")


def make_pack(work, name, **files):
    folder = work / name
    folder.mkdir()
    (folder / "pack.yaml").write_bytes((HEADER + CHECKS).encode())
    for file, text in files.items():
        (folder / f"{file}.yaml").write_bytes(text.encode())
    return folder


def snapshot(folder):
    return {path.name: path.read_bytes() for path in folder.iterdir()}


# name: (causes.yaml before, after), written by hand
LAYOUTS = {
    "plain": ("causes:\n" + NEIGHBOUR, "causes:\n" + NEIGHBOUR + "\n" + BLOCK),
    "no final newline": ("causes:\n" + NEIGHBOUR[:-1], "causes:\n" + NEIGHBOUR + "\n" + BLOCK),
    "CR LF": (("causes:\n" + NEIGHBOUR).replace("\n", "\r\n"), ("causes:\n" + NEIGHBOUR + "\n" + BLOCK).replace("\n", "\r\n")),
    "byte order mark": ("\ufeffcauses:\n" + NEIGHBOUR, "\ufeffcauses:\n" + NEIGHBOUR + "\n" + BLOCK),
    "comments at the end": ("causes: # all of them\n" + NEIGHBOUR + "  # still causes\n\n# The end of the file.\n",
                            "causes: # all of them\n" + NEIGHBOUR + "  # still causes\n\n" + BLOCK + "\n# The end of the file.\n"),
    "something behind": ("causes:\n" + NEIGHBOUR + "\n# of them\nprices:\n  belt: 12\n",
                         "causes:\n" + NEIGHBOUR + "\n" + BLOCK + "\n# of them\nprices:\n  belt: 12\n"),
    "no blank lines": ("causes:\n" + NEIGHBOUR + NEIGHBOUR.replace("loose", "slack"),
                       "causes:\n" + NEIGHBOUR + NEIGHBOUR.replace("loose", "slack") + BLOCK),
    "four blanks": ("causes:\n    loose:\n        title: Belt loose\n        part: belt\n        seen: 2 %\n        source: s\n",
                    "causes:\n    loose:\n        title: Belt loose\n        part: belt\n        seen: 2 %\n        source: s\n\n" +
                    "".join(" " * (len(line) - len(line.lstrip())) + line for line in BLOCK.splitlines(True))),
    "other order": ("causes:\n  loose:\n    part: belt\n    title: Belt loose\n    source: s\n    seen: 2 %\n",
                    "causes:\n  loose:\n    part: belt\n    title: Belt loose\n    source: s\n    seen: 2 %\n\n"
                    "  dark:\n    part: rotor\n    title: Rotor dark\n    source: from memory\n"
                    "    # a first guess, until closed jobs say better\n    seen: 3 of 100\n    signs:\n"
                    "      # how often this alone makes it so; what is left is the normal value\n      lamp: {on: often}\n"),
    "text that keeps its end": ("causes:\n  loose:\n    title: Belt loose\n    part: belt\n    seen: 2 %\n    source: |+\n      s\n\n\nprices:\n  belt: 12\n",
                                "causes:\n  loose:\n    title: Belt loose\n    part: belt\n    seen: 2 %\n    source: |+\n      s\n\n\n\n" + BLOCK +
                                "prices:\n  belt: 12\n"),
}


def check_layouts(work):
    for name, (before, after) in LAYOUTS.items():
        folder = make_pack(work, name, causes=before)
        ran = run("cause", folder, *CAUSE)
        if ran.returncode != 0:
            fail(f"{name}: status {ran.returncode}\n{ran.stderr}")
        expect(name, (folder / "causes.yaml").read_bytes().decode(), after)
        first = after.replace("\r", "").split("\n").index(next(line for line in after.split("\n") if line.strip() == "dark:").rstrip("\r")) + 1
        if f"causes.yaml, lines {first} to" not in " ".join(ran.stdout.split()):
            fail(f"{name}: {ran.stdout}")
    folder = make_pack(work, "absent")  # the section is nowhere: a file of its own
    run("cause", folder, *CAUSE)
    expect("absent", (folder / "causes.yaml").read_text(), "causes:\n" + BLOCK)
    folder = make_pack(work, "named")
    run("cause", folder, *CAUSE, "--file", "pack.yaml")  # behind what is there
    expect("named", (folder / "pack.yaml").read_text(), HEADER + CHECKS + "\ncauses:\n" + BLOCK)
    folder = make_pack(work, "dots", more="facts:\n  f:\n    title: F\n...\n")
    run("cause", folder, *CAUSE, "--file", "more.yaml")
    expect("dots", (folder / "more.yaml").read_text(), "facts:\n  f:\n    title: F\n\ncauses:\n" + BLOCK + "...\n")


def check_choice(work):
    """A cause goes where causes of such parts stand, a check where checks of its place stand, a family into its own file."""
    mark = "# yaml-language-server: $schema=../schema/pack.schema.json\n"
    inside = mark + "causes:\n  open:\n    title: Rotor open\n    part: rotor\n    seen: 2 %\n    source: s\n"
    outside = "causes:\n" + NEIGHBOUR + NEIGHBOUR.replace("loose", "slack")
    tern = "# Tern\nunits:\n  tern: {title: Tern, source: s, versions: {tern_90: {title: Tern 90 A}}}\n"
    folder = make_pack(work, "choice", inside=inside, belts=outside, tern=tern)
    run("cause", folder, *CAUSE)
    run("check", folder, "name=heat", "title=Heat", "ask=Hot?", "answer=yes_or_no", "place=counter", "minutes=1")
    ran = run("family", f"{folder}//", "name=plover_small", "title=Plover small", "source=s", "sign=span: 96 mm +/- 1 mm", "version=plover_80",
              "title=Plover 80 A", "seen=12", "sign=plate: {like: '^P8', how_often: usually}", "notes=Told last, and of the family.")
    expect("own file", (folder / "plover-small.yaml").read_text(), mark + """# Plover small
units:
  plover_small:
    title: Plover small
    source: s
    notes: Told last, and of the family.
    signs:
      # What all versions show. A bare value means always; what is not named looks like the average unit.
      span: 96 mm +/- 1 mm
    versions:
      # seen: how many of the cores that this shop remembers were this one; default 1
      plover_80:
        title: Plover 80 A
        seen: 12
        signs:
          plate: {like: '^P8', how_often: usually}
""" if ran.returncode == 0 else ran.stderr)
    several = "units:\n" + "".join(f"  {name}: {{title: {name}, source: s, versions: {{{name}_1: {{title: One {name}}}}}}}\n" for name in ("knot", "tern"))
    shelf = make_pack(work, "shelf", shelf=several)  # one file for all: so is the new one's; from within the folder
    ran = run("family", ".", "name=ruff", "title=Ruff", "source=s", "version=ruff_1", "title=Ruff 1", cwd=shelf)
    if ran.returncode != 0 or not (shelf / "shelf.yaml").read_text().startswith(several + "  ruff:\n    title: Ruff\n"):
        fail(f"shelf: {ran.stdout}{ran.stderr}")
    for file, word in (("inside", "dark:"), ("pack", "heat:")):
        if word not in (folder / f"{file}.yaml").read_text():
            fail(f"{word} is not in {file}.yaml")


def refused(name, folder, words, *messages, status=2, text="", **more):
    before = snapshot(folder) if folder.is_dir() else None
    ran = run(*words, text=text, **more)
    if ran.returncode != status:
        fail(f"{name}: status {ran.returncode}\n{ran.stdout}{ran.stderr}")
    said = " ".join((ran.stderr + ran.stdout).split())
    for message in messages:
        if message not in said:
            fail(f"{name}: '{message}' is not in:\n{ran.stderr}")
    if before is not None and snapshot(folder) != before:
        fail(f"{name}: something was written")


def check_refusals(work):
    folder = make_pack(work, "shop", causes="causes:\n" + NEIGHBOUR)
    empty = work / "empty"
    empty.mkdir()
    refused("no pack", empty, ["cause", empty, *CAUSE], "is no pack: it holds no *.yaml", "needs: [charging-basics]")
    refused("no folder", folder, ["cause", work / "nowhere", *CAUSE], "nowhere is no folder")
    refused("no kind", folder, ["coause", folder], "did you mean 'cause'?")
    refused("taken", folder, ["cause", folder, "name=loose", *CAUSE[1:]], f"the name loose is taken: Belt loose {folder}/causes.yaml:2: note: it stands here")
    refused("part", folder, ["cause", folder, *CAUSE[:2], "part=rotr", *CAUSE[3:]], "part=rotr: no part has this name", "did you mean 'rotor'?")
    refused("value", folder, ["cause", folder, *CAUSE[:4], "sign=lamp: {onn: often}", "source=s"], "causes.yaml:11:14: error: 'onn' is", "did you mean 'on'?", "nothing was written",
            "corewright begin cause")
    refused("plain value", folder, ["cause", folder, *CAUSE, "sign=lamp: gloww"], "did you mean 'glow'?")
    refused("key", folder, ["cause", folder, *CAUSE, "becuse=x"], "did you mean 'because='?")
    refused("twice", folder, ["cause", folder, *CAUSE, "part=belt"], "part= is said twice")
    refused("how often", folder, ["cause", folder, *CAUSE[:3], "seen=30 of 20"], "wanted is 3 of 100")
    refused("missing", folder, ["cause", folder, *CAUSE[:5]], "the answers end before all that is needed was told; nothing was written",
            "as a word of the command it is: source=")
    needing = work / "needing"
    needing.mkdir()
    (needing / "pack.yaml").write_text("pack: {name: needing, title: Needing, version: 1, needs: [shop]}\n")
    (folder / "pack.yaml").write_text((HEADER + CHECKS).replace("name: corner", "name: shop"))
    refused("taken in a needed pack", needing, ["cause", needing, "name=loose"], "the name loose is taken: Belt loose", "/../shop/causes.yaml:2: note")
    refused("place", folder, ["check", folder, "name=h", "title=H", "ask=H?", "answer=yes_or_no", "place=countr", "minutes=1"],
            "place=countr: there is no such place help: did you mean 'counter'?")
    refused("check with a case", folder, ["check", folder, "--corpus", work], "a check alone decides nothing")
    refused("fact", folder, ["check", folder, "name=lamp"], "the name lamp is taken: Charge lamp", f"{folder}/pack.yaml:3: note")
    refused("version without a title", folder, ["family", folder, "name=tern", "title=Tern", "source=s", "version=tern_90"], "a title= is wanted behind it")
    refused("two lines", folder, ["cause", folder, "name=dark", "title=a\nb"], "one line without tabs is wanted")
    refused("file elsewhere", folder, ["cause", folder, *CAUSE, "--file", "../x.yaml"], "the name of a file in the pack is wanted")
    corpus = work / "full"
    corpus.mkdir()
    (corpus / "dark.yaml").write_text("case: x\n")
    refused("case there", folder, ["cause", folder, *CAUSE, "--corpus", corpus], "this case is there already")
    flow = make_pack(work, "flow", causes="causes: {" + NEIGHBOUR.strip() + "}\n")
    refused("flow", flow, ["cause", flow, *CAUSE, "--file", "causes.yaml"], f"{flow}/causes.yaml:1: error: 'causes' is written behind its colon or in braces")
    flow = make_pack(work, "all flow", causes="{causes: {" + NEIGHBOUR.strip() + "}}\n")
    refused("all flow", flow, ["cause", flow, *CAUSE, "--file", "causes.yaml"], "the file is written in braces")
    broken = make_pack(work, "broken", causes="causes:\n" + NEIGHBOUR.replace("belt", "bolt"))
    refused("broken", broken, ["cause", broken, *CAUSE], "no part is named 'bolt'", "the pack has errors already")
    locked = make_pack(work, "locked", causes="causes:\n" + NEIGHBOUR)
    (locked / "causes.yaml").chmod(0o444)
    refused("read-only", locked, ["cause", locked, *CAUSE], "causes.yaml: it is read-only", "nothing was written", status=3)
    many = make_pack(work, "many", causes="causes:\n" + "".join(NEIGHBOUR.replace("loose", f"c{i}") for i in range(40)))
    limit = 3500  # of a file: what is written anew does not fit
    refused("full", many, ["cause", many, *CAUSE], "File too large", status=3,
            preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit)))


def check_stop(work):
    folder = make_pack(work, "stop")
    before = snapshot(folder)
    child = subprocess.Popen([command, "begin", "cause", folder], stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    child.stdin.write(b"dark\n")
    child.stdin.flush()
    said = b""
    while b"to a customer?" not in said:
        said += os.read(child.stdout.fileno(), 4096)
    time.sleep(0.05)
    child.send_signal(signal.SIGINT)
    child.wait(20)
    out, err = child.communicate()
    if child.returncode != 1 or b"Stopped. Nothing was written." not in said + out or snapshot(folder) != before:
        fail(f"Ctrl-C: {child.returncode} {out} {err}")


TALK = """?
Rotor
dark
Rotor dark
rot

3 of 100
charge l
1
3
now and then
often

span

rotor

20
Take the rotor out.

It has no field.
from memory
"""


def check_talk(work):
    """Asked and on the command line it comes to the same; the command that is shown says the same again."""
    folder = make_pack(work, "talk", more="causes:\n" + NEIGHBOUR)
    ran = run("cause", folder, text=TALK + "no\n")
    if ran.returncode != 1 or "Nothing was written.\nThe same in one command:" not in ran.stdout:
        fail(f"talk: {ran.returncode}\n{ran.stdout}{ran.stderr}")
    for words in ("Small letters, digits and _", "A reading is no sign of a fault", "That is what is seen when nothing is wrong", "Wanted is 17 of 20"):
        if words not in ran.stdout:
            fail(f"talk: '{words}' is not in\n{ran.stdout}")
    said = ran.stdout[ran.stdout.index("corewright begin cause"):]
    ran = run("cause", folder, text=TALK + "yes\n")
    asked = (folder / "more.yaml").read_text()
    (folder / "more.yaml").write_text("causes:\n" + NEIGHBOUR)
    again = subprocess.run([command, *shlex.split(said.replace("\\\n", ""))[1:]], capture_output=True, text=True)
    if ran.returncode != 0 or again.returncode != 0 or (folder / "more.yaml").read_text() != asked:
        fail(f"talk: {said}\n{again.stderr}")
    expect("talk", asked, "causes:\n" + NEIGHBOUR + "\n" + BLOCK.replace("    source", """    plan:
      minutes: 20
      replace: [rotor]
      steps:
        - Take the rotor out.
    because: It has no field.
    source"""))


FAMILY_TALK = """tern
Tern
own count

bolt sp
112
0.8

plate
studs

span
130

lamp
gl

tern_90
Tern 90 A
40
plate
T9(
usually


tern_95
Tern 95 A

lamp
glow
80 %
off
1 of 20

studs
4


span
120
0.4


yes
"""
FAMILY = """# Tern
units:
  tern:
    title: Tern
    data:
      span: 130 mm
      lamp: glow
    source: own count
    signs:
      # What all versions show. A bare value means always; what is not named looks like the average unit.
      span: 112 mm +/- 0.8 mm
    versions:
      # seen: how many of the cores that this shop remembers were this one; default 1
      tern_90:
        title: Tern 90 A
        seen: 40
        signs:
          plate: {like: '^T9\\(', how_often: usually}
      tern_95:
        title: Tern 95 A
        data:
          span: 120 mm +/- 0.4 mm
        signs:
          lamp: {glow: 80 %, off: 1 of 20}
          studs: 4
"""


def check_family_talk(work):
    """Measures, texts, counts and choices, told as people do."""
    folder = make_pack(work, "family talk", studs="checks:\n  studs: {title: Studs, ask: How many?, count: 2 to 6, place: counter, minutes: 1}\n")
    ran = run("family", folder, text=FAMILY_TALK)
    expect("family talk", (folder / "tern.yaml").read_text() if ran.returncode == 0 else ran.stdout + ran.stderr, FAMILY)


TERNS = """# Terns
units:
  tern: # a small one
    title: Tern
    source: own count
    signs:
      span: 112 mm +/- 0.8 mm
    versions:
      tern_90:
        seen: 40
        title: Tern 90 A
        signs:
          lamp: off
      # The late one.
      tern_95:
        seen: 8
        title: Tern 95 A
        notes: |
          Fit it with the longer plug.

    notes: Told last.

  # Two frames.
  plover:
    title: Plover
    source: own count
    frames:
      plover_short:
        title: Plover short
        versions:
            plover_70:
                title: "Plover 70 A"
      plover_long: {title: Plover long, versions: {plover_90: {title: Plover 90 A}}}
  ruff:
    title: Ruff
    source: own count
    frames:
      ruff_flat: {title: Ruff flat}
  knot: {title: Knot, source: own count, versions: {knot_1: {title: Knot 1}}}

prices: {belt: 12}
"""
TERN_110 = ["family=tern", "name=tern_110", "title=Tern 110 A", "seen=12", "sign=lamp: {glow: usually}", "data=span: 112 mm"]
TERN_110_BLOCK = """      tern_110:
        seen: 12
        title: Tern 110 A
        data:
          span: 112 mm
        signs:
          # Its own; what all of the family show is handed down, unless it is said here.
          lamp: {glow: usually}
"""
PLOVER_80_BLOCK = """            plover_80:
                title: Plover 80 A
"""


def check_version(work):
    """A version goes behind its sisters, in their style; what stands around it stays as it is, byte for byte."""
    for name, change in (("LF", lambda text: text), ("CR LF", lambda text: text.replace("\n", "\r\n"))):
        folder = make_pack(work, f"version {name}", terns=change(TERNS))
        ran = run("version", folder, *TERN_110)
        after = TERNS.replace("longer plug.\n", "longer plug.\n" + TERN_110_BLOCK)
        expect(f"version {name}", (folder / "terns.yaml").read_bytes().decode() if ran.returncode == 0 else ran.stderr, change(after))
        if "terns.yaml, lines 20 to 27." not in " ".join(ran.stdout.split()):
            fail(f"version: {ran.stdout}")
    ran = run("version", folder, "family=plover_short", "name=plover_80", "title=Plover 80 A")
    expect("version of a frame", (folder / "terns.yaml").read_bytes().decode() if ran.returncode == 0 else ran.stderr,
           change(after.replace('"Plover 70 A"\n', '"Plover 70 A"\n' + PLOVER_80_BLOCK)))
    folder = make_pack(work, "version last", terns=TERNS[:TERNS.index("\n    notes: Told last")])
    run("version", folder, *TERN_110)
    expect("version last", (folder / "terns.yaml").read_text(), TERNS[:TERNS.index("\n    notes: Told last")] + TERN_110_BLOCK)

    folder = make_pack(work, "version shop", terns=TERNS)
    refused("no such family", folder, ["version", folder, "family=trn", *TERN_110[1:]], "family=trn: no family has this name", "did you mean 'tern'?")
    refused("a version of a version", folder, ["version", folder, "family=tern_90", *TERN_110[1:]], "that is a version itself", "did you mean 'tern'?")
    refused("in frames", folder, ["version", folder, "family=plover", *TERN_110[1:]], "it comes in frames, name one: plover_long plover_short")
    refused("name taken", folder, ["version", folder, "family=tern", "name=tern_95"], "the name tern_95 is taken: Tern 95 A", "terns.yaml:15: note")
    refused("braces", folder, ["version", folder, "family=knot", "name=knot_2", "title=Knot 2"], "terns.yaml:39: error: 'versions' is written behind its colon or in braces",
            "write 'versions:' alone")
    refused("other file", folder, ["version", folder, *TERN_110, "--file", "pack.yaml"], "'tern' does not stand here", "leave --file out")
    refused("frames alone", folder, ["version", folder, "family=ruff", "name=ruff_1", "title=Ruff 1"], "terns.yaml:34: error: 'ruff' has no 'versions:' that a line can be added to")
    shop = make_pack(work, "needed", terns=TERNS)
    (shop / "pack.yaml").write_text((HEADER + CHECKS).replace("name: corner", "name: needed"))
    user = work / "user"
    user.mkdir()
    (user / "pack.yaml").write_text("pack: {name: user, title: User, version: 1, needs: [needed]}\n")
    refused("family elsewhere", user, ["version", user, *TERN_110], "'tern' does not stand here", "/../needed/terns.yaml:3: note: it stands here", "name the folder of the pack in which")


VERSION_TALK = """plov
plover
plover_short
plover_80
Plover 80
back
Plover 80 A
12
lamp
o
glow
back
lamp
zzz

span
none
100 furlongs
0.5

studs

Mind the plug.
back

97 mm
yes
"""


def check_version_talk(work):
    """What was told can be taken back; what cannot stand is asked for again before anything is written."""
    folder = make_pack(work, "version talk", terns=TERNS)
    corpus = work / "version corpus"
    ran = run("version", folder, "--corpus", corpus, text=VERSION_TALK.replace("97 mm", "span: 97 mm +/- 0.5 mm"))
    expect("version talk", (folder / "terns.yaml").read_text() if ran.returncode == 0 else ran.stdout + ran.stderr,
           TERNS.replace('"Plover 70 A"\n', '"Plover 70 A"\n' + PLOVER_80_BLOCK + """                seen: 12
                signs:
                    # Its own; what all of the family show is handed down, unless it is said here.
                    span: 97 mm +/- 0.5 mm
"""))
    for words in ("plover_long", "It comes in frames; which one?", "A number of the list is wanted, or its words.", "So it cannot stand, and nothing was written yet. "
                  "It was: span: 100 furlongs +/- 0.5 mm. Once more:", "Nothing here is called studs."):
        if words not in " ".join(ran.stdout.split()):
            fail(f"version talk: '{words}' is not in\n{ran.stdout}")
    case = yaml.load((corpus / "plover-80.yaml").read_text(), yaml.BaseLoader) if (corpus / "plover-80.yaml").exists() else {}
    expect("version talk: case", (case.get("stage"), case.get("answers"), case.get("outcome")), ("identify", {"span": "97 mm"}, {"unit": "plover_80"}))


def check_words_of_people(work):
    """Choices as people say them get short names; parts and cautions are found by a word of theirs."""
    folder = make_pack(work, "people", hazards="cautions:\n  spin: {say: Keep hands off the running belt., source: s}\n")
    ran = run("check", folder, text="Strap look\nstrap_look\nStrap\nHow is it?\n\nchoice\nTight, Loose: bolt gone, Not there\nvehicle\n1\nrunning\n\n\nyes\n")
    expect("people", (folder / "pack.yaml").read_text() if ran.returncode == 0 else ran.stdout + ran.stderr, HEADER + CHECKS.replace("parts:", """  strap_look:
    title: Strap
    ask: How is it?
    choices:
      tight: Tight
      loose_bolt_gone: 'Loose: bolt gone'
      not_there: Not there
    place: vehicle
    minutes: 1
    cautions: [spin]
parts:"""))
    if "Did you mean 'strap_look'?" not in ran.stdout:
        fail(f"people: {ran.stdout}")
    refused("caution", folder, ["check", folder, "name=h", "title=H", "ask=H?", "answer=yes_or_no", "place=counter", "minutes=1", "cautions=spinn"],
            "cautions=spinn: no caution has this name help: did you mean 'spin'?")


def check_random(work, rounds=20):
    """Whatever is said comes out of another YAML reader as it was said, and all else in the file as it was."""
    dice = random.Random(5)
    letters = "aB9 -:#'\"{}[],&*!|>%@`?~\\é鎖="
    for i in range(rounds):
        blank, quote = dice.choice(["  ", "   ", "    "]), dice.choice("'\"")
        before = "causes:\n" + f"{blank}loose:\n{blank * 2}title: {quote}Belt loose{quote}\n{blank * 2}part: belt\n{blank * 2}seen: 2 %\n{blank * 2}source: s\n"
        before += "" if dice.random() < 0.5 else "# end\n"
        folder = make_pack(work, f"random{i}", causes=before)
        told = {key: " ".join("".join(dice.choice(letters) for _ in range(dice.choice([3, 20, 200]))).split()) or "x" for key in ("title", "because", "source")}
        step = "".join(dice.choice(letters) for _ in range(12)).strip() or "x"
        ran = run("cause", folder, "name=dark", "part=rotor", "seen=3 %", "step=" + step, *(f"{key}={value}" for key, value in told.items()))
        after = (folder / "causes.yaml").read_text()
        if ran.returncode != 0:
            fail(f"random {told}: {ran.stderr}")
            continue
        read = yaml.load(after, yaml.BaseLoader)["causes"]
        if {key: read["dark"][key] for key in told} != told or read["dark"]["plan"]["steps"] != [step]:
            fail(f"random: {told} {step} became\n{after}")
        head = 0
        while head < len(before) and before[head] == after[head]:
            head += 1
        if not after.endswith(before[head:]) or yaml.load(before, yaml.BaseLoader)["causes"]["loose"] != read["loose"]:
            fail(f"random: more than the entry has changed:\n{after}")


def check_case(work):
    folder = make_pack(work, "case")
    corpus = work / "corpus"
    (corpus / "identify").mkdir(parents=True)
    ran = run("family", folder, "name=tern", "title=Tern", "source=s", "sign=span: {around: 112 mm, sd: 1 mm}", "sign=plate: {like: '^T', how_often: often}", "version=tern_90",
              "title=Tern 90 A", "sign=lamp: {off: 1 of 10, glow: 80 %, on: rarely}", "--corpus", corpus)
    if ran.returncode != 0 or "It comes out as labelled: Tern 90 A" not in " ".join(ran.stdout.split()):
        fail(f"case: {ran.stdout}{ran.stderr}")
        return
    case = yaml.load((corpus / "identify/tern-90.yaml").read_text(), yaml.BaseLoader)
    expect("case", (case["answers"], case["outcome"]), ({"span": "112 mm", "lamp": "glow"}, {"unit": "tern_90"}))
    ran = subprocess.run([command, "replay", corpus, "--packs", folder], capture_output=True, text=True)
    if ran.returncode != 0:
        fail(f"case: replay: {ran.stdout}{ran.stderr}")


def main():
    with tempfile.TemporaryDirectory() as name:
        work = pathlib.Path(name)
        os.environ["TMPDIR"] = str(work / "scratch")
        (work / "scratch").mkdir()
        for check in (check_layouts, check_choice, check_refusals, check_stop, check_talk, check_family_talk, check_version, check_version_talk, check_words_of_people, check_random, check_case):
            check(work)
        if list((work / "scratch").iterdir()):
            fail("scratch folders are left")
    print("\n".join(failures))
    print(f"{len(failures)} failures")
    return 1 if failures else 0


sys.exit(main())
