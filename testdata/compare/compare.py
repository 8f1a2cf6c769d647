"""Runs the comparison on the files of a folder and prints a table in Markdown."""

import os
import platform
import re
import subprocess
import sys
import time
from collections import namedtuple

FOLDER = sys.argv[1]
PROGRAM, OURS, EMPTY = (os.path.join(FOLDER, name) for name in ("injtab", "ours", "empty"))
SOLVER_SECONDS = 60
PAUSE = 0.05

Took = namedtuple("Took", "wall cpu peak")  # s, s, MB


def file(name):
    return os.path.join(FOLDER, name)


def process(args, cores=None):
    """Runs a program to its end: what it printed, and what it took as a whole."""
    env = dict(os.environ)
    if cores:
        env["GOMAXPROCS"] = str(cores)
    start = time.perf_counter()
    child = subprocess.Popen(args, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, env=env)
    out = child.stdout.read().decode()
    _, status, used = os.wait4(child.pid, 0)
    wall = time.perf_counter() - start
    child.returncode = os.waitstatus_to_exitcode(status)
    if child.returncode != 0:
        raise SystemExit(f"{' '.join(args)} ended with {child.returncode}")
    return out, Took(wall, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024)


def whole(args, times=15):
    """The least wall and processor time of a program from start to end."""
    all_ = []
    for _ in range(times):
        all_.append(process(args)[1])
        time.sleep(PAUSE)
    return Took(min(t.wall for t in all_), min(t.cpu for t in all_), max(t.peak for t in all_))


def inside(args, cores=None):
    """What a program says that a piece of its work took, and its peak of memory."""
    out, took = process(args, cores)
    wall, cpu = map(float, out.split()[-2:])
    return Took(wall, cpu, took.peak)


def benchmark(package, name):
    """Seconds of a benchmark that lies beside the code."""
    out = subprocess.run(["go", "test", "-run", "^$", "-bench", name, "-count", "3", package], cwd="../..",
                         capture_output=True, text=True, check=True).stdout
    return min(float(ns) for ns in re.findall(r"([\d.]+) ns/op", out)) / 1e9


def show(seconds):
    return f"{seconds * 1e3:.3g} ms" if seconds < 1 else f"{seconds:.2f} s"


def row(case, ours, tool, theirs, limit, memory=""):
    print(f"| {case} | {show(ours)}{memory} | {tool} | {show(theirs)} | {theirs / ours:.3g} | {limit} |", flush=True)


def plain(case, ours, limit, memory=""):
    print(f"| {case} | {show(ours)}{memory} | | | | {limit} |", flush=True)


def starts(python):
    demo, out = file("demo.csv"), file("out")
    empty = whole([EMPTY])
    numpy = whole([python, "-c", "import numpy"])
    tables = whole([PROGRAM, "tables", demo, "-o", out, "--force"])
    row("`tables` of the demonstration, whole process, all files", tables.wall, "Python importing numpy", numpy.wall, "ratio above 1")
    for verb in (["check", demo], ["match", demo, "--of", "6"], ["fit", demo]):
        took = whole([PROGRAM, *verb])
        row(f"`{verb[0]}` of the demonstration, whole process", took.wall, "empty program", empty.wall, f"{show(empty.wall + 0.03)}: 30 ms above")
    page = whole([PROGRAM, "report", demo, "-o", file("page.html"), "--force"], 5)
    plain("page and workbook of the demonstration: `report` and `tables`", page.wall + tables.wall, "0.5 s")


def reading(python):
    archive = file("archive.csv")
    ours = inside([OURS, "-n", "5", "read", archive], 1)
    both = inside([OURS, "-n", "5", "read", archive], 2)
    memory = inside([OURS, "read", archive], 1).peak
    case = "reading 1,000,000 rows into checked readings"
    row(case + ", one core", ours.wall, "numpy `loadtxt`, reading alone", inside([python, "read_numpy.py", archive, "5"]).wall,
        "0.6 s, 160 MB", f", {memory:.0f} MB")
    row(case + ", one core", ours.wall, "R `read.csv`, reading alone", inside(["Rscript", "read.R", archive, "read.csv", "2", "1"]).wall, "ratio above 1")
    row(case + ", two cores", both.wall, "data.table `fread`, two threads, reading alone",
        inside(["Rscript", "read.R", archive, "fread", "5", "2"]).wall, "ratio about 1")


def archive(python):
    csv, book = file("archive.csv"), file("archive.xlsx")
    job = inside([OURS, "-n", "2", "job", csv], 2)
    memory = inside([OURS, "job", csv], 2).peak
    row("the whole job on it: read, check, fit, tables of 5,000 injectors", job.wall, "numpy `loadtxt`, reading alone",
        inside([python, "read_numpy.py", csv, "5"]).wall, "ratio above 1, 250 MB", f", {memory:.0f} MB")
    ours = inside([OURS, "-n", "2", "read", book], 1)
    rows = inside([OURS, "-n", "2", "iterate", book], 1)
    memory = inside([OURS, "read", book], 1).peak
    row("the same as a workbook, read and checked, one core", ours.cpu, "excelize, going through the rows alone", rows.cpu,
        "ratio above 0.77, 400 MB", f", {memory:.0f} MB")


def fits(python):
    lines = benchmark("./fit/internal/lsq", "Line20x50000")
    case = "20 straight lines of 50,000 readings with standard errors"
    row(case, lines, "numpy `lstsq`", inside([python, "lines.py", "10"]).wall, "10 ms, ratio above 10")
    row(case, lines, "R `lm`", inside(["Rscript", "lines.R", "5"]).wall, "ratio above 30")
    session = file("session.csv")
    ours = inside([OURS, "-n", "10", "fit", session], 2)
    row("mapped session of 8 injectors, robust, with model choice", ours.wall, "scipy `least_squares`, one form",
        inside([python, "session.py", session, "3"]).wall, "50 ms, ratio above 20")


def matching(python):
    for n in (20, 200):
        case = f"the best 8 of {n} at six points, proven"
        ours = inside([OURS, "-n", "20", "match", file(f"pile-{n}.csv")]).wall
        highs = inside([python, "pile.py", file(f"pile-{n}.csv"), str(SOLVER_SECONDS)]).wall
        row(case, ours, "HiGHS", highs, stopped(highs))
        _, glpk = process(["glpsol", "--lp", file(f"pile-{n}.lp"), "--tmlim", str(SOLVER_SECONDS)])
        row(case, ours, "GLPK", glpk.wall, stopped(glpk.wall))


def stopped(seconds):
    return f"stopped after {SOLVER_SECONDS} s, unproven" if seconds > SOLVER_SECONDS else ""


def versions(python):
    said = lambda args: subprocess.run(args, capture_output=True, text=True, check=True).stdout.strip().splitlines()[0]
    print("; ".join([said(["go", "version"]).removeprefix("go version "),
                     said([python, "-c", "import platform, numpy, scipy; print('Python', platform.python_version(), 'numpy', numpy.__version__, 'scipy', scipy.__version__)"]),
                     said(["Rscript", "-e", "cat(R.version.string, 'data.table', as.character(packageVersion('data.table')))"]),
                     said(["glpsol", "--version"]).split(": ")[-1], f"{os.cpu_count()} cores, {platform.machine()}"]), flush=True)


PARTS = {"starts": starts, "reading": reading, "archive": archive, "fits": fits, "matching": matching}

versions(sys.executable)
print("\n| case | ours | compared with | theirs | theirs / ours | limit |\n|---|---|---|---|---|---|", flush=True)
for name in os.environ.get("PARTS", " ".join(PARTS)).split():
    PARTS[name](sys.executable)
