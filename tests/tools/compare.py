#!/usr/bin/env python3
"""'corewright compare' against two runs of replay, judged again here; each kind of change to a pack is named by the rule, sign or
frequency that was changed; git revisions and what can be missing there. Usage: compare.py COMMAND SOURCE_DIR"""
import json
import os
import pathlib
import random
import shutil
import signal as signal_of_python
import subprocess
import sys
import tempfile

import jsonschema

command, top = os.path.abspath(sys.argv[1]), pathlib.Path(sys.argv[2]).absolute()
SHOP = top / "tests/session/shop"
schemas = {name: json.loads((top / f"rules/schema/{name}.schema.json").read_text()) for name in ("result", "replay", "compare")}
jsonschema.Draft202012Validator.check_schema(schemas["compare"])


def whole(value):
    """What is taken from the schemas beside it, put in its place."""
    if isinstance(value, dict):
        name, _, path = value.get("$ref", "").partition("#/") if isinstance(value.get("$ref", ""), str) else ("", "", "")
        if name:
            found = schemas[name.split(".")[0]]
            for key in path.split("/"):
                found = found[key]
            return whole(found)
        return {key: whole(part) for key, part in value.items()}
    return [whole(part) for part in value] if isinstance(value, list) else value


put_together = whole(schemas["compare"])
put_together["$defs"] = {**whole(schemas["replay"]["$defs"]), **put_together["$defs"]}
validator = jsonschema.Draft202012Validator(put_together)
MARGIN = 0.1
wrong = 0


def check(holds, words):
    global wrong
    if not holds:
        wrong += 1
        print(words)


def run(*words, status=None, cwd=None, **environment):
    done = subprocess.run([command, *map(str, words)], capture_output=True, text=True, cwd=cwd,
                          env={**os.environ, "LC_ALL": "C.UTF-8", "GIT_CONFIG_GLOBAL": "/dev/null", **environment})
    check(status in (None, done.returncode), f"{words}: status {done.returncode}, not {status}\n{done.stdout[-2000:]}\n{done.stderr[-2000:]}")
    return done


def compare(*words, **how):
    result = json.loads(run("compare", "--json", *words, **how).stdout)
    for error in validator.iter_errors(result):
        check(False, f"compare {words}: {error.json_path}: {error.message[:300]}")
    return result


def answer(stage, packs, *words):
    return json.loads(run(stage, "--json", "--packs", packs, *words).stdout)


# -- cases and changed packs ---------------------------------------------------------------------------------------------------

CAUSES = {"lamp_running": ["off", "glow", "flicker", "on"], "squeal": ["yes", "no"], "ripple": ["0.1 V", "0.7 V", "1.2 V"],
          "belt_feel": ["firm", "slack"], "belt_glaze": ["yes", "no"], "fitted_ago": ["years", "days"]}
UNITS = {"bolt_spacing": ["112 mm", "133 mm", "114 mm"], "lead_style": ["single", "twin"], "rib_count": [5, 6], "marking": ["T9112", "P70"]}
NAMES = {"triage": ["diode_open", "regulator_dead", "belt_slipping", "dead_cell"], "identify": ["tern_early", "tern_late", "plover_70", "not_listed"]}


def make_corpus(folder):
    r = random.Random(5)
    for number in range(90):
        stage = r.choice(["identify", "triage", "triage"])
        table = UNITS if stage == "identify" else CAUSES
        checks = r.sample(sorted(table), r.randint(1, len(table)))
        case = {"case": f"made-{number}", "stage": stage, "answers": {name: r.choice(table[name]) for name in checks}}
        if r.random() < 0.85:
            case["outcome"] = {"unit" if stage == "identify" else "causes": r.sample(NAMES[stage], r.choice([1, 1, 2]))}
        write(folder / f"{number:03}.yaml", json.dumps(case, indent=1))
    return folder


def write(path, text):
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text)
    return path


def changed(scratch, name, *swaps):
    """The shop with something else in some places, each of which must be there once."""
    text = (SHOP / "pack.yaml").read_text()
    for old, new in swaps:
        check(text.count(old) == 1, f"{name}: '{old}' is there {text.count(old)} times")
        text = text.replace(old, new)
    return write(scratch / name / "pack.yaml", text).parent


# -- the judgement, made again ---------------------------------------------------------------------------------------------------

def group(side):
    place = (side["right"] or {}).get("place", 99)
    return 0 if place == 1 else 1 if place <= 3 else 2


def judge(old, new):
    if old["truth"] is None:
        return "unlabelled"
    gain = new["truth"]["probability"] - old["truth"]["probability"]
    if group(old) != group(new):
        return "better" if group(new) < group(old) else "worse"
    return "better" if gain >= MARGIN else "worse" if gain <= -MARGIN else "same"


def hold_against_replay(old, new, corpus):
    """Every case and every sum is what replay says of either version."""
    status = None
    result = compare(old, new, corpus)
    sides = {key: json.loads(run("replay", "--json", "--packs", packs, corpus).stdout) for key, packs in (("old", old), ("new", new))}
    verdicts = []
    for one, was, now in zip(result["cases"], sides["old"]["cases"], sides["new"]["cases"]):
        for key, side in (("old", was), ("new", now)):
            check(all(one[key][k] == side[k] for k in ("ended", "first", "right", "truth", "log_loss", "brier", "wrong")), f"{one['file']}: {one[key]}, not {side}")
        verdicts.append(judge(was, now))
        check(one["verdict"] == verdicts[-1], f"{one['file']}: {one['verdict']}, not {verdicts[-1]}")
        check(one["first_changed"] == (was["first"]["id"] != now["first"]["id"]), f"{one['file']}: first changed")
        told = one["first_changed"] or one["verdict"] in ("better", "worse")
        check(bool(one["differences"]) <= told, f"{one['file']}: differences of a case that did not change")
    for key, side in sides.items():
        check(result[key] == {"stages": side["stages"], "all": side["all"]}, f"the sums of the {key} packs")
    for verdict, count in result["counts"].items():
        if verdict == "first_changed":
            check(count == sum(c["first_changed"] for c in result["cases"]), "counts: first changed")
        else:
            check(count == verdicts.count(verdict), f"counts: {verdict}")
    status = 1 if "worse" in verdicts else 0
    check(run("compare", old, new, corpus).returncode == status, f"the exit status is to be {status}")
    return result


def whose(result, **wanted):
    """Cases with a difference of this kind."""
    return [(c, d) for c in result["cases"] for d in c["differences"] if all(d.get(k) == v for k, v in wanted.items())]


def test_changes(scratch, corpus):
    same = hold_against_replay(SHOP, changed(scratch, "same"), corpus)
    check(same["counts"]["better"] == same["counts"]["worse"] == same["counts"]["first_changed"] == 0, "nothing has changed")

    # A rule that is gone: named, and first.
    gone = hold_against_replay(SHOP, changed(scratch, "gone", ("if: {ripple: above 0.5 V}", "if: {ripple: above 19 V}")), corpus)
    found = whose(gone, what="fact", fact="ripple_state")
    check(len(found) > 3 and gone["counts"]["worse"] > 0, f"a rule is gone: {len(found)}")
    for case, difference in found:
        check(difference["old"] == {"shown": "high", "rule": "ripple_is_high", "counts": True} and difference["new"] is None, f"{difference}")
        check(case["differences"][0] == difference and not difference["follows"], f"the rule is not named first: {case['differences']}")
        signs = [d for d in case["differences"] if d["what"] == "sign" and d["through"] == "ripple_state"]
        check(signs and all(d["follows"] and d["old_rule"] == "ripple_is_high" and d["new_bits"] == 0 for d in signs), f"signs follow: {signs}")
    signs = whose(gone, what="sign")
    check(len(signs) > len(found) and all(d["follows"] for _, d in signs), f"one rule is gone, and what the signs say has not changed: {len(signs)}, {[d for _, d in signs if not d['follows']][:3]}")
    text = run("compare", SHOP, scratch / "gone", corpus, status=1).stdout
    check("- Rule ripple_is_high no longer concludes AC ripple: high." in text, text[:1500])
    check(all(len(line) <= 80 or str(corpus) in line for line in text.splitlines()), "wider than 80 columns")
    back = run("compare", scratch / "gone", SHOP, corpus).stdout
    check("- Rule ripple_is_high now concludes AC ripple: high." in back, back[:1500])

    # Another limit: the fact has another value by another rule.
    limit = hold_against_replay(SHOP, changed(scratch, "limit", ("if: {ripple: above 0.5 V}", "if: {ripple: above 1 V}"), ("if: {ripple: at most 0.5 V}", "if: {ripple: at most 1 V}")), corpus)
    found = whose(limit, what="fact", fact="ripple_state")
    check(found and all((d["old"]["rule"], d["new"]["rule"], d["new"]["shown"]) == ("ripple_is_high", "ripple_is_normal", "normal") for _, d in found), f"limit: {found[:1]}")
    check("AC ripple was high by rule ripple_is_high; now normal by rule" in " ".join(run("compare", SHOP, scratch / "limit", corpus).stdout.split()), "a limit in words")

    # What follows from a fact stands behind it.
    chain = hold_against_replay(SHOP, changed(scratch, "chain", ("if: {any: [{belt_feel: slack}, {belt_glaze: yes}]}", "if: {all: [{belt_feel: slack}, {belt_glaze: yes}]}")), corpus)
    found = whose(chain, what="fact", fact="belt_wear")
    check(found and all(d["follows"] for _, d in found), f"belt_wear follows: {found[:1]}")
    check(all(c["differences"][0]["fact"] == "belt_state" and not c["differences"][0]["follows"] for c, _ in found), "belt_state comes first")

    # How common a cause is: what the packs say with nothing told.
    seen = hold_against_replay(SHOP, changed(scratch, "seen", ("part: regulator\n    seen: 5 of 100", "part: regulator\n    seen: 40 of 100")), corpus)
    found = whose(seen, what="seen", line="regulator_dead")
    untold = [next(x["probability"] for x in answer("triage", packs)["ranking"] if x["id"] == "regulator_dead") for packs in (SHOP, scratch / "seen")]
    check(found and all(abs(d["old_probability"] - untold[0]) < 1e-9 and abs(d["new_probability"] - untold[1]) < 1e-9 for _, d in found), f"seen: {found[:1]} {untold}")
    check(all(c["differences"][0] == d for c, d in found), "the frequency is the greatest difference")
    check("- Regulator dead, before anything is told: was 5 %, now 40 %." in run("compare", SHOP, scratch / "seen", corpus).stdout, "a frequency in words")

    # How often a cause shows a sign: bits as each version tells them.
    sign = hold_against_replay(SHOP, changed(scratch, "sign", ("lamp_running: {on: usually}", "lamp_running: {glow: usually, on: rarely}")), corpus)
    found = whose(sign, what="sign", line="regulator_dead", check="lamp_running")
    check(found and all(not d["follows"] and d["old_rule"] is None for _, d in found), f"sign: {found[:1]}")
    tried = 0
    for case, difference in found[:6]:
        for key, packs in (("old_bits", SHOP), ("new_bits", scratch / "sign")):
            line = next(x for x in answer("triage", packs, "--case", case["file"])["ranking"][:5] + [None] if x is None or x["id"] == "regulator_dead")
            if line is None:  # reasons are told of the first five alone
                continue
            tried += 1
            told = [s["bits"] for s in line["for"] + line["against"] if s["check"] == "lamp_running"]
            check(abs(difference[key] - (told[0] if told else 0)) < 1e-9, f"{case['file']}: {key} {difference[key]}, not {told}")

    check(tried > 5, f"only {tried} signs were held against the stage's own telling")

    # A unit that only one version knows.
    more = changed(scratch, "more", ("  plover:\n    title: Plover\n", "  knot:\n    title: Knot\n    source: invented\n    versions:\n      knot_60: {title: Knot 60 A, seen: 300, "
                                     "signs: {bolt_spacing: 112 mm +/- 1 mm}}\n  plover:\n    title: Plover\n"))
    found = whose(hold_against_replay(SHOP, more, corpus), what="line", line="knot_60")
    check(found and all(d["only_in"] == "new" and c["differences"][0] == d for c, d in found), f"only in the new packs: {found[:1]}")
    check("Knot 60 A: only the new packs know it." in run("compare", SHOP, more, corpus).stdout, "a new unit in words")
    check("Knot 60 A: only the old packs know it." in run("compare", more, SHOP, corpus).stdout, "an old unit in words")
    return gone


def test_apart(scratch):
    """Cases that only one version can take, and bad ones."""
    folder = scratch / "apart"
    good = {"stage": "triage", "answers": {"smell": "yes"}, "outcome": {"causes": ["regulator_dead"]}}
    write(folder / "new.yaml", json.dumps(good, indent=1))
    more = changed(scratch, "smell", ("  fitted_ago:\n", "  smell: {title: Smell, ask: Does it smell?, place: counter, minutes: 1, source: invented, background: 5 of 100}\n  fitted_ago:\n"),
                   ("lamp_running: {on: usually}", "lamp_running: {on: usually}\n      smell: {yes: often}"))
    result = compare(SHOP, more, folder, status=0)
    check(result["cases"][0]["verdict"] == "only_new" and result["cases"][0]["old"]["messages"][0]["code"] == "E400", f"only new: {result['cases']}")
    check(result["old"]["all"]["cases"] == result["new"]["all"]["cases"] == 0, "sums are of what both can take")
    check(compare(more, SHOP, folder, status=1)["counts"]["only_old"] == 1, "only old, with a label: worse")
    text = " ".join(run("compare", more, SHOP, folder, status=1).stdout.split())
    check("the new packs cannot take it Line 4: no pack has a check 'smell'." in text, text)
    write(folder / "bad.yaml", "stage: triage\nanswers: {smel: yes}\n")
    done = run("compare", SHOP, more, folder, status=2)
    check("bad.yaml:2:11: error: no pack has a check 'smel'" in done.stderr and "1 bad" in done.stdout, done.stderr)
    result = compare(SHOP, more, folder, status=2)
    check([c["verdict"] for c in result["cases"]] == ["bad", "only_new"] and result["cases"][0]["messages"][0]["line"] == 2, "a bad case does not stop the others")
    write(folder / "bad.yaml", "stage: [\n")
    check(compare(SHOP, more, folder, status=2)["cases"][0]["messages"][0]["code"] == "E001", "a file that is no YAML")


def test_threads(scratch, corpus):
    texts = {run("compare", "--threads", n, *how, SHOP, scratch / "gone", corpus, status=1).stdout for n in (1, 2, 5) for how in ([], ["--json"])}
    check(len(texts) == 2, "the result hangs on the number of threads")


def test_sheets(scratch):
    """A line of the proof sheet that no longer comes out as labelled is worse."""
    shop = top / "tests/session/proving"
    text = "".join(p.read_text() for p in shop.glob("*.yaml"))
    growls = text.index("  growls:")
    new = write(scratch / "proving/pack.yaml", text[:growls] + text[growls:].replace("growl: yes", "growl: no", 1)).parent
    folder = scratch / "sheets"
    write(folder / "sheet.yaml", json.dumps({"stage": "proof", "answers": {"growl": "yes"}, "outcome": {"proof": "failed", "lines": ["noise_line"]}}, indent=1))
    one = compare(shop, new, folder, status=1)["cases"][0]
    check((one["verdict"], one["old"]["wrong"], bool(one["new"]["wrong"])) == ("worse", [], True), f"sheet: {one}")
    check(any(d["what"] == "fact" and d["fact"] == "noise_line" for d in one["differences"]), f"sheet: {one['differences']}")
    check(compare(new, shop, folder, status=0)["cases"][0]["verdict"] == "better", "the other way round it is better")


def git(folder, *words):
    names = {f"GIT_{who}_{what}": "tester@example.invalid" for who in ("AUTHOR", "COMMITTER") for what in ("NAME", "EMAIL")}
    subprocess.run(["git", *words], cwd=folder, check=True, capture_output=True, env={**os.environ, **names, "GIT_CONFIG_GLOBAL": "/dev/null"})


def test_revisions(scratch, corpus, gone):
    """Two commits: the shop split over two packs beside each other, then with a rule gone."""
    house, held = scratch / "house", scratch / "held"
    held.mkdir()
    text = (SHOP / "pack.yaml").read_text()
    start, end = text.index("\ncautions:"), text.index("\nunits:")
    write(house / "packs/base/pack.yaml", "pack: {name: base, title: Base, version: 1}\n" + text[start:end])
    shop = write(house / "packs/shop/pack.yaml", (text[:start] + text[end:]).replace("  version: 3\n", "  version: 3\n  needs: [base]\n"))
    write(house / "packs/base/a name with blanks.yaml", "{}\n")
    git(house, "init", "-q")
    git(house, "add", ".")
    git(house, "commit", "-q", "-m", "one")
    git(house, "tag", "first")
    shop.write_text(shop.read_text().replace("if: {ripple: above 0.5 V}", "if: {ripple: above 19 V}"))
    git(house, "commit", "-q", "-a", "-m", "two")

    def strip(result):
        return [{k: v for k, v in c.items()} for c in result["cases"]]

    how = {"cwd": house, "TMPDIR": str(held)}
    want = strip(gone)
    for old, new in (("first:packs/shop", "packs/shop"), ("HEAD~1:packs/shop/", "HEAD:packs/shop"), ("first:packs", "packs"), (SHOP, "HEAD:packs"), ("first:./packs/shop", "./packs")):
        check(strip(compare(old, new, corpus, status=1, **how)) == want, f"{old} {new}: not as between folders")
    check(strip(compare("first:./shop", "shop", corpus, status=1, cwd=house / "packs", TMPDIR=str(held))) == want, "from where one is")
    for words, says in ((("last:packs/shop", "packs/shop"), "git knows no revision 'last'"), (("HEAD:packs/shoe", "packs/shop"), "there is no 'HEAD:packs/shoe'"),
                        (("HEAD:packs/shop/pack.yaml", "packs/shop"), "'HEAD:packs/shop/pack.yaml' holds no pack"), (("packs/shop", "packs/shoe"), "packs/shoe: No such file"),
                        (("-x:packs", "packs/shop"), "there is no option -x:packs"), (("packs/shop",), "compare wants the old packs, the new ones and a corpus")):
        done = run("compare", *words, *([corpus] if len(words) > 1 else []), status=2, **how)
        check(says in done.stderr and done.stdout == "", f"'{says}' is not in: {done.stderr}")
    done = run("compare", "HEAD:packs/shop", "packs/shop", corpus, status=2, cwd=house, PATH="/no/such")
    check("git is not installed, so no revision can be fetched" in done.stderr, done.stderr)
    done = run("compare", "HEAD:packs/shop", SHOP, corpus, status=2, cwd=held, GIT_CEILING_DIRECTORIES=str(scratch))
    check("this is no git repository" in done.stderr, done.stderr)
    shop.write_text("pack: [\n")
    git(house, "commit", "-q", "-a", "-m", "three")
    done = run("compare", "HEAD:packs/shop", SHOP, corpus, status=2, **how)
    check("these are the packs of HEAD:packs/shop" in done.stderr, done.stderr)
    check(list(held.iterdir()) == [], f"left behind: {list(held.iterdir())}")


def test_interrupted(scratch, corpus):
    """Whenever it is ended, nothing stays behind: at each call of git in turn, and while the cases run."""
    house, held, bin, count = scratch / "house", scratch / "ended", scratch / "bin", scratch / "count"
    held.mkdir()
    bin.mkdir()
    real = shutil.which("git")
    (bin / "git").write_text(f"""#!/bin/sh
n=$(($(cat {count}) + 1)); echo $n >{count}
[ $n -ne "$AT" ] || kill -$WITH $PPID
exec {real} "$@"
""")
    (bin / "git").chmod(0o755)
    words = ("compare", "first:packs/shop", "HEAD~1:packs/shop", corpus)

    def end_at(call, signal, ignored=False):
        count.write_text("0")
        prepare = (lambda: signal_of_python.signal(getattr(signal_of_python, "SIG" + signal), signal_of_python.SIG_IGN)) if ignored else None
        done = subprocess.run([command, *map(str, words)], capture_output=True, text=True, cwd=house, preexec_fn=prepare,
                              env={**os.environ, "LC_ALL": "C.UTF-8", "PATH": f"{bin}:{os.environ['PATH']}", "TMPDIR": str(held),
                                   "AT": str(call), "WITH": signal})
        check(list(held.iterdir()) == [], f"SIG{signal} at call {call} of git: left behind: {list(held.iterdir())}")
        return done

    check(end_at(0, "INT").returncode == 1, "without a signal it ends as ever")
    calls = int(count.read_text())
    check(calls >= 8, f"only {calls} calls of git")
    for call in range(1, calls + 1):
        done = end_at(call, ("INT", "TERM", "HUP")[call % 3])
        check(done.returncode in (-2, -15, -1) and done.stdout == "" and done.stderr == "", f"call {call}: {done}")
        check(int(count.read_text()) == call, f"ended at call {call}, git was called {count.read_text()} times")
    check(end_at(4, "HUP", ignored=True).returncode == 1, "a signal that is ignored stops it")
    # More comes out than a pipe holds, so that it waits in the middle of the cases.
    going = subprocess.Popen([command, *map(str, words), *[corpus] * 20, "--json"], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, cwd=house,
                             env={**os.environ, "TMPDIR": str(held)})
    going.stdout.read(1)
    check(going.poll() is None, "it did not wait")
    check(list(held.iterdir()) == [], f"while the cases run: {list(held.iterdir())}")
    going.send_signal(signal_of_python.SIGINT)
    going.stdout.close()
    check(going.wait() == -signal_of_python.SIGINT, f"ended as {going.returncode}")


def main():
    with tempfile.TemporaryDirectory(prefix="cw-compare-") as scratch:
        scratch = pathlib.Path(scratch)
        corpus = make_corpus(scratch / "corpus")
        gone = test_changes(scratch, corpus)
        test_threads(scratch, corpus)
        test_apart(scratch)
        test_sheets(scratch)
        test_revisions(scratch, corpus, gone)
        test_interrupted(scratch, corpus)
    if validator.is_valid(dict(gone, surprise=1)) or validator.is_valid({k: v for k, v in gone.items() if k != "counts"}):
        check(False, "the schema lets through what it must not")
    print(f"{wrong} wrong")
    return 1 if wrong else 0


sys.exit(main())
