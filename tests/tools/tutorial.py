#!/usr/bin/env python3
"""The tutorial as a new user follows it: its blocks of commands run one behind the other in one shell, in a home of their own, and
what they print is held against the block behind them. `...` stands for anything; a percentage may be 5 off, a number of checks
anything, for other packs than the tutorial's own change. Usage: tutorial.py COMMAND SOURCE_DIR"""
import os
import pathlib
import re
import subprocess
import sys
import tempfile

command, top = pathlib.Path(sys.argv[1]), pathlib.Path(sys.argv[2])
text = (top / "rules/tutorial.md").read_text()
BLOCK = re.compile(r"(?:<!-- (append|append-after): ([^:\n]+?)(?:: (\w+))? -->\n)?^```(\w+)\n(.*?)^```$", re.M | re.S)
failures = []


def steps():
    """(kind, commands or lines, what is expected or None), in order."""
    found = []
    for mark, path, after, language, body in BLOCK.findall(text):
        if language == "sh":
            found.append(["run", body, None])
        elif language == "text":
            if found[-1][0] != "run" or found[-1][2] is not None:
                failures.append(f"an output without its commands: {body}")
            found[-1][2] = body
        elif mark:
            found.append([mark, body, (path, after)])
        else:
            failures.append(f"a block that nothing is done with: {body}")
    return found


def as_pattern(line):
    """A line of the page as a regular expression."""
    parts = []
    for piece in re.split(r"(\.\.\.|\d+(?:\.\d+)? %|\d+ checks|[█▉▊▋▌▍▎▏]+ *| {2,})", line):
        if piece == "...":
            parts.append(".*")
        elif re.fullmatch(r"\d+(?:\.\d+)? %", piece):
            parts.append(r"(\d+(?:\.\d+)?) %")
        elif re.fullmatch(r"\d+ checks", piece):
            parts.append(r"\d+ checks")
        elif piece and (piece[0] in "█▉▊▋▌▍▎▏" or piece.startswith("  ")):
            parts.append("[█▉▊▋▌▍▎▏ ]+")
        else:
            parts.append(re.escape(piece))
    return "".join(parts)


def percentages(line):
    return [float(number) for number in re.findall(r"(\d+(?:\.\d+)?) %", line)]


def fits(line, said):
    match = re.fullmatch(as_pattern(line), said)
    return match is not None and all(abs(float(got) - wanted) <= 5 for got, wanted in zip(match.groups(), percentages(line)))


def agrees(wanted, said):
    """Whether the lines agree, lines of ... standing for any number of lines."""
    if not wanted:
        return not said
    if wanted[0] == "...":
        return any(agrees(wanted[1:], said[i:]) for i in range(len(said) + 1))
    return bool(said) and fits(wanted[0], said[0]) and agrees(wanted[1:], said[1:])


def edit(home, kind, body, where):
    path = home / "long-meadow" / where[0]
    old = path.read_text()
    if kind == "append":
        path.write_text(old + body)
        return
    lines = old.splitlines(True)
    at = next((i for i, line in enumerate(lines) if line.lstrip().startswith(where[1] + ":")), None)
    if at is None:
        failures.append(f"{where[0]} has no line {where[1]}")
        return
    path.write_text("".join(lines[: at + 1]) + body + "".join(lines[at + 1 :]))


def start(home):
    environment = {"HOME": str(home), "PATH": os.environ["PATH"], "LC_ALL": "C.UTF-8", "TMPDIR": str(home)}
    return subprocess.Popen(["bash"], cwd=top, env=environment, text=True, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.STDOUT)


def run(shell, commands):
    """What the shell prints on both channels, and the last status."""
    shell.stdin.write(commands + "\necho \"--- end $?\"\n")
    shell.stdin.flush()
    said = []
    for line in shell.stdout:
        if line.startswith("--- end "):
            return said, int(line.split()[2])
        said.append(line.rstrip("\n"))
    return said, -1


def setup(commands):
    """The command under test in place of the one that the first lines would build."""
    if not commands.startswith("./tools/run rules\nexport PATH="):
        failures.append("the tutorial begins otherwise than with building and PATH")
    return "\n".join(commands.splitlines()[2:]) + f"\nexport PATH='{command.parent}':$PATH"


def follow(home):
    shell = start(home)
    count = 0
    for number, (kind, body, wanted) in enumerate(steps()):
        if kind != "run":
            edit(home, kind, body, wanted)
            continue
        said, status = run(shell, setup(body) if number == 0 else body)
        count += 1
        if wanted is None and (said or status != 0):
            failures.append(f"{body}said, with status {status}:\n" + "\n".join(said))
        if wanted is not None and not agrees(wanted.splitlines(), said):
            failures.append(f"{body}said:\n" + "\n".join(said) + f"\nthe page says:\n{wanted}")
        if status == -1:
            failures.append(f"the shell ended in:\n{body}")
            break
    shell.stdin.close()
    shell.wait()
    return count


def main():
    with tempfile.TemporaryDirectory() as home:
        count = follow(pathlib.Path(home))
    print("\n\n".join(failures))
    print(f"{count} blocks of commands, {len(failures)} failures")
    return 1 if failures or count < 10 else 0


sys.exit(main())
