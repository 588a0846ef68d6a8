#!/usr/bin/env python3
"""The wall chart: SVG and PDF of the command chart, held against what they promise. Nothing leaves the page or overlaps;
no type is smaller than stated; every way through the chart, given to the stage as a case, leads to the end drawn, with
its chance; each question is the engine's own next; minutes and chances add up; bad calls are refused in words.
Usage: chart.py COMMAND SOURCE_DIR"""
import json
import pathlib
import re
import subprocess
import sys
import tempfile
import xml.etree.ElementTree as xml

command, top = sys.argv[1], pathlib.Path(sys.argv[2])
folder_of_work = tempfile.TemporaryDirectory()
work = pathlib.Path(folder_of_work.name)
shop, lane = top / "tests/session/shop", top / "rules/harbour-lane"
SVG = "{http://www.w3.org/2000/svg}"
PAPERS = {"a4": (297, 210), "a3": (420, 297), "letter": (279.4, 215.9), "tabloid": (431.8, 279.4)}  # ISO 216, ANSI Y14.1
LEAST = 8.5  # points, the smallest type: rules/README.md, the chart for the wall
failures = []


def fail(words):
    failures.append(words)


def run(*words, text=None):
    return subprocess.run([command, *map(str, words)], capture_output=True, text=True, input=text)


def replay(stage, packs, answers, places=()):
    """What the stage itself says to these answers."""
    case = json.dumps({"case": "way", "stage": stage, "answers": answers})
    ran = run(stage, "--case", "-", "--json", "--packs", packs, *sum((["--place", p] for p in places), []), text=case)
    if ran.returncode != 0:
        fail(f"{answers}: {ran.stderr}")
        return None
    return json.loads(ran.stdout)


def first_of(stage, result):
    """(name, chance) of what is first: README, the chart's own rule beside the list."""
    if any(c["stop"] for c in result["cautions"]) or not result["possible"]:
        return "", 0
    beside = ("not_listed", result["not_listed"]) if stage == "identify" else ("nothing_found", result["nothing_found"])
    lines = result["ranking"]
    if lines and lines[0]["probability"] >= beside[1]:
        return lines[0]["id"], lines[0]["probability"]
    return beside


def answers_of(text):
    return dict(pair.split("=", 1) for pair in text.split("|")) if text else {}


def number(element, *names):
    return [float(element.get(name)) for name in names]


# -- Geometry --

def check_page(name, root, paper):
    width, height = [float(root.get(k).removesuffix("mm")) for k in ("width", "height")]
    if abs(width - PAPERS[paper][0]) > 0.06 or abs(height - PAPERS[paper][1]) > 0.06:
        fail(f"{name}: the page is {width} x {height} mm")
    _, _, w, h = map(float, root.get("viewBox").split())
    if abs(w / width - 72 / 25.4) > 0.01:
        fail(f"{name}: the unit is no point")
    margin = 25  # points left white, less half a stroke
    for text in root.iter(SVG + "text"):
        x, y, size, long = number(text, "x", "y", "font-size", "textLength")
        if x < margin or x + long > w - margin or y - size < margin or y + size * 0.25 > h - margin:
            fail(f"{name}: leaves the page: {text.text}")
        if size < LEAST:
            fail(f"{name}: {size} points are too small: {text.text}")
    for rect in root.iter(SVG + "rect"):
        if rect.get("class") == "paper":
            continue
        x, y, a, b = number(rect, "x", "y", "width", "height")
        if x < margin or y < margin or x + a > w - margin or y + b > h - margin:
            fail(f"{name}: a box leaves the page at {x}, {y}")
    for colour in set(re.findall(r'(?:fill|stroke)="([^"]+)"', xml.tostring(root).decode())):
        if colour not in ("black", "white", "none") and not re.fullmatch(r"#(..)\1\1", colour):
            fail(f"{name}: colour {colour}")


def frame_of(group):
    return number(group.find(SVG + "rect"), "x", "y", "width", "height")


def check_boxes(name, groups, root):
    frames = [frame_of(g) for g in groups]
    for i, (x, y, w, h) in enumerate(frames):
        for u, v, a, b in frames[i + 1:]:
            if x < u + a and u < x + w and y < v + b and v < y + h:
                fail(f"{name}: boxes overlap at {x}, {y} and {u}, {v}")
        texts = []
        for text in groups[i].iter(SVG + "text"):
            tx, ty, size, long = number(text, "x", "y", "font-size", "textLength")
            if tx < x or tx + long > x + w + 0.02 or ty - size < y - 0.02 or ty + size * 0.25 > y + h:
                fail(f"{name}: text leaves its box: {text.text}")
            texts.append((tx, ty, long))
        for k, (tx, ty, long) in enumerate(texts):
            for ux, uy, other in texts[k + 1:]:
                if abs(ty - uy) < LEAST * 0.9 and tx < ux + other - 0.02 and ux < tx + long - 0.02:
                    fail(f"{name}: texts overlap in the box at {x}, {y}")
    for line in root.iter(SVG + "line"):
        a, b, c, d = number(line, "x1", "y1", "x2", "y2")
        for x, y, w, h in frames:
            if min(a, c) < x + w - 0.1 and max(a, c) > x + 0.1 and min(b, d) < y + h - 0.1 and max(b, d) > y + 0.1:
                fail(f"{name}: a line runs through the box at {x}, {y}")


# -- What is drawn --

def check_ways(name, stage, packs, ways, questions, given, places, full):
    minutes = {q.get("data-answers"): (q.get("data-check"), float(q.get("data-minutes"))) for q in questions}
    for way in ways:
        answers = answers_of(way.get("data-answers"))
        result = replay(stage, packs, {**given, **answers}, places)
        if result is None:
            continue
        leader, chance = first_of(stage, result)
        if leader != way.get("data-leader") or abs(chance - float(way.get("data-chance"))) > 1e-6:
            fail(f"{name}: {answers}: the chart says {way.get('data-leader')} {way.get('data-chance')}, "
                 f"the stage {leader} {chance}")
        pairs = way.get("data-answers").split("|") if answers else []
        on_way = [minutes.get("|".join(pairs[:i])) for i in range(len(pairs))]
        if None not in on_way:
            if [c for c, _ in on_way] != list(answers):
                fail(f"{name}: {answers} are no answers to {on_way}")
            if abs(sum(m for _, m in on_way) - float(way.get("data-minutes"))) > 1e-5:
                fail(f"{name}: {answers}: minutes do not add up")
        for other in way.get("data-same").split("|")[1:] if full else []:
            again = replay(stage, packs, {**given, **answers, list(answers)[-1]: other}, places)
            if again and abs(first_of(stage, again)[1] - chance) > 1e-6:
                fail(f"{name}: {other} does not come to the same as {answers}")


def check_questions(name, stage, packs, questions, given, places):
    for question in questions:
        result = replay(stage, packs, {**given, **answers_of(question.get("data-answers"))}, places)
        if result is None:
            continue
        texts = {c["check"] for c in result["next"] if c["check"] in TEXTS}
        asked = [c for c in result["next"] if c["check"] not in texts]
        if not asked or asked[0]["check"] != question.get("data-check"):
            fail(f"{name}: {question.get('data-answers')}: asks {question.get('data-check')}, "
                 f"the stage {asked[0]['check'] if asked else 'nothing'}")


def texts_of(packs):
    """Names of checks that take stamped text, read from the packs."""
    found = set()
    for folder in (packs, top / "rules/charging-basics"):
        for path in folder.glob("*.yaml"):
            check = None
            for line in path.read_text().splitlines():
                at = re.match(r"  (\w+):\s*$", line)
                check = at[1] if at else check
                if re.match(r"    text: yes\b", line):
                    found.add(check)
    return found


def check_pdf(name, path, paper, heading):
    """Poppler's own reading of it."""
    info = subprocess.run(["pdfinfo", path], capture_output=True, text=True).stdout
    if not re.search(r"^Pages: +1$", info, re.M):
        fail(f"{name}: the PDF has not one page:\n{info}")
    size = [float(x) * 25.4 / 72 for x in re.search(r"Page size: +([\d.]+) x ([\d.]+)", info).groups()]
    if any(abs(a - b) > 0.2 for a, b in zip(size, PAPERS[paper])):
        fail(f"{name}: the PDF is {size} mm")
    if heading not in subprocess.run(["pdftotext", "-layout", path, "-"], capture_output=True, text=True).stdout:
        fail(f"{name}: the PDF lacks its heading")


def check_chart(stage, packs, deep, *more, paper="a4", given={}, places=(), full=True):
    global TEXTS
    TEXTS = texts_of(packs)
    name = f"{stage} {packs.name} --deep {deep} {' '.join(more)}"
    svg, pdf = work / "chart.svg", work / "chart.pdf"
    ran = run("chart", stage, "--packs", packs, "--deep", deep, "--paper", paper, "--svg", svg, "--pdf", pdf, *more)
    if ran.returncode != 0 or ran.stdout:
        fail(f"{name}: status {ran.returncode}: {ran.stderr}{ran.stdout}")
        return None
    root = xml.parse(svg).getroot()
    groups = [g for g in root.iter(SVG + "g") if g.get("class") in ("question", "end")]
    questions = [g for g in groups if g.get("class") == "question"]
    ways = [g for g in root.iter(SVG + "g") if g.get("class") == "way"]
    check_page(name, root, paper)
    check_boxes(name, groups, root)
    check_pdf(name, pdf, paper, root.find(SVG + "title").text)
    for way in ways:
        if len(answers_of(way.get("data-answers"))) > deep:
            fail(f"{name}: deeper than {deep}: {way.get('data-answers')}")
    total = sum(float(w.get("data-reach")) for w in ways) + sum(float(q.get("data-rest")) for q in questions)
    if abs(total - 1) > 1e-6:
        fail(f"{name}: the chances of all ways and of what is left out come to {total}")
    if len(questions) < 1 or len(ways) < 2:
        fail(f"{name}: {len(questions)} questions and {len(ways)} ways are no chart")
    for question in questions:
        if places and question.get("data-place") not in places:
            fail(f"{name}: asks at {question.get('data-place')}")
    check_ways(name, stage, packs, ways, questions, given, places, full)
    check_questions(name, stage, packs, questions, given, places)
    words = " ".join(t.text for t in root.iter(SVG + "text"))
    return words, ran.stderr, questions, ways


def check_given():
    case = work / "given.yaml"
    case.write_text("case: given\nstage: triage\nanswers: {lamp_running: glow}\n")
    drawn = check_chart("triage", shop, 3, "--case", str(case), given={"lamp_running": "glow"})
    if drawn and "Only where this is so: Charge lamp with engine running: glows dimly" not in drawn[0]:
        fail(f"the chart does not say where it holds: {drawn[0]}")
    drawn = check_chart("identify", shop, 3, "--place", "counter", places=("counter",))
    if drawn and "Only what can be looked at here: counter" not in drawn[0]:
        fail("the chart does not say its place")
    drawn = check_chart("triage", lane, 1, "--words", "the charge lamp glows dimly", given={"lamp_running": "glow"})
    if drawn and "glows dimly" not in drawn[0]:
        fail("the words are not on the chart")


def write_wide(words):
    """Sixteen units that two questions of four answers each tell apart, with long titles."""
    folder = work / f"wide{words}"
    folder.mkdir()
    looks = "{" + ", ".join(f"look{i}: look number {i}" for i in range(4)) + "}"
    lines = ["pack: {name: wide, title: Wide, version: 1, not_listed: 1 of 1000}", "checks:"]
    for name in ("front", "rear"):
        lines += [f"  {name}:", f"    title: The {name}", f"    ask: What does the {name} look like?", f"    choices: {looks}",
                  "    place: counter", "    minutes: 1", "    source: invented"]
    lines += ["units:", "  dipper:", "    title: Dipper", "    source: invented", "    versions:"]
    for i in range(16):
        lines += [f"      dipper_{i}:", f"        title: {i} {'dipper of many words ' * words}", "        seen: 10",
                  f"        signs: {{front: {{look{i // 4}: always}}, rear: {{look{i % 4}: always}}}}"]
    (folder / "pack.yaml").write_text("\n".join(lines) + "\n")
    return folder


def check_fitting():
    """What does not fit is said on the chart and beside it."""
    drawn = check_chart("identify", write_wide(1), 4, full=False)
    if drawn and (drawn[1] or len(drawn[3]) != 16 or len(drawn[2]) != 5 or "do not fit" in drawn[0]):
        fail(f"sixteen short ends fit: {drawn[1]}, {len(drawn[3])} ways")
    drawn = check_chart("identify", write_wide(12), 4, full=False)
    said = "rawn 1 deep: 2 questions do not fit"
    if drawn and (drawn[1] != f"corewright: note: the chart is d{said} a4\n" or f"D{said} this sheet." not in drawn[0]):
        fail(f"that it was cut should stand on the chart: {drawn[1]}")
    if drawn and {len(answers_of(w.get("data-answers"))) for w in drawn[3]} != {1}:
        fail("said one deep, drawn otherwise")
    ran = run("chart", "identify", "--packs", write_wide(150))
    if ran.returncode != 2 or "not even one question fits a4\nhelp: --paper a3" not in ran.stderr or ran.stdout:
        fail(f"what fits no page: status {ran.returncode}, {ran.stderr}")


def check_bad():
    nowhere = work / "none" / "chart.svg"
    for words, status, says in (
            (["identfy"], 2, "did you mean 'identify'?"), ([], 2, "which stage?"), (["teardown"], 2, "there is no chart of 'teardown'"),
            (["identify", "triage"], 2, "takes one stage, not also 'triage'"),
            (["identify", "--deep", "0"], 2, "--deep: no number of questions: '0'"),
            (["identify", "--deep", "9"], 2, "a whole number from 1 to 8"), (["identify", "--deep", "two"], 2, "'two'"),
            (["identify", "--paper", "a44"], 2, "did you mean 'a4'?"), (["identify", "--place", "countr"], 2, "did you mean 'counter'?"),
            (["triage", "--words", "qqq"], 2, "they suggest no answer: 'qqq'"), (["identify", "--answer", "lead_style=purple"], 2, "purple"),
            (["identify", "--case", "no-such.yaml"], 2, "no-such.yaml"),
            (["identify", "--svg", nowhere], 3, "No such file"), (["identify", "--pdf", nowhere], 3, str(nowhere)),
            (["identify", "--svg", "/dev/full"], 3, "could not be written whole"), (["identify", "--pdf", "/dev/full"], 3, "/dev/full")):
        ran = run("chart", *words, "--packs", shop)
        if ran.returncode != status or says not in ran.stderr or ran.stdout:
            fail(f"chart {words}: status {ran.returncode}, expected {status} and '{says}':\n{ran.stderr}")


def check_output():
    """Without a file it is printed, and always the same."""
    first, again = (run("chart", "identify", "--packs", shop, "--deep", 2) for _ in range(2))
    run("chart", "identify", "--packs", shop, "--deep", 2, "--svg", work / "same.svg")
    if first.stdout != again.stdout or first.stdout != (work / "same.svg").read_text():
        fail("two runs differ")


for stage in ("identify", "triage"):
    check_chart(stage, shop, 4)
check_chart("identify", lane, 3, paper="letter", full=False)
check_chart("identify", shop, 1, paper="a3")
check_given()
check_fitting()
check_bad()
check_output()
print("\n".join(failures) or "the chart holds")
sys.exit(1 if failures else 0)
