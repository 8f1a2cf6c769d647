"""Runs the comparison on the files of a folder and prints a table in Markdown."""

import math
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
    took = []
    for _ in range(times):
        took.append(process(args)[1])
        time.sleep(PAUSE)
    return Took(min(t.wall for t in took), min(t.cpu for t in took), max(t.peak for t in took))


def inside(args, cores=None):
    """What a program says that a piece of its work took, and its peak of memory."""
    out, took = process(args, cores)
    wall, cpu = map(float, out.split()[-2:])
    return Took(wall, cpu, took.peak)


def benchmark(package, name, **env):
    """What a benchmark that lies beside the code takes on one core."""
    out = subprocess.run(["go", "test", "-run", "^$", "-bench", name, "-cpu", "1", "-benchtime", "10x", "-count", "20", package], cwd="../..",
                         capture_output=True, text=True, check=True, env=os.environ | env).stdout
    least = min(float(ns) for ns in re.findall(r"([\d.]+) ns/op", out)) / 1e9
    return Took(least, least, 0)


def show(seconds):
    return f"{seconds * 1e3:.3g} ms" if seconds < 1 else f"{seconds:.2f} s"


def both(took):
    memory = f", {took.peak:.0f} MB" if took.peak > 100 else ""
    return f"{show(took.wall)} ({show(took.cpu)}){memory}"


def row(case, ours, tool, theirs, limit):
    print(f"| {case} | {both(ours)} | {tool} | {both(theirs)} | {theirs.wall / ours.wall:.3g} ({theirs.cpu / ours.cpu:.3g}) | {limit} |", flush=True)


def alone(case, ours, limit):
    print(f"| {case} | {ours} | | | | {limit} |", flush=True)


def starts(python):
    demo, out = file("demo.csv"), file("out")
    empty = whole([EMPTY])
    numpy = whole([python, "-c", "import numpy"])
    tables = whole([PROGRAM, "tables", demo, "-o", out, "--force"])
    row("`tables` of the demonstration, whole process, all files", tables, "Python importing numpy", numpy, "ratio above 1")
    for verb in (["check", demo], ["match", demo, "--of", "6"], ["fit", demo]):
        row(f"`{verb[0]}` of the demonstration, whole process", whole([PROGRAM, *verb]), "empty program with cobra", empty, "30 ms more")
    page = whole([PROGRAM, "report", demo, "-o", file("page.html"), "--force"])
    alone("page and workbook of the demonstration: `report` and `tables`", show(page.wall + tables.wall) + f" ({show(page.cpu + tables.cpu)})", "0.5 s")


def reading(python):
    archive = file("archive.csv")
    case = "reading 1,000,000 rows into checked readings"
    ours = inside([OURS, "-n", "5", "read", archive], 1)
    ours = ours._replace(peak=inside([OURS, "read", archive], 1).peak)
    numpy = inside([python, "read_numpy.py", archive, "5"])
    row(case + ", one core", ours, "numpy `loadtxt`, reading alone", numpy, "0.6 s, 160 MB")
    row(case + ", one core", ours, "R `read.csv`, reading alone", inside(["Rscript", "read.R", archive, "read.csv", "3", "1"]), "ratio above 1")
    ours = inside([OURS, "-n", "5", "read", archive], 2)
    ours = ours._replace(peak=inside([OURS, "read", archive], 2).peak)
    row(case + ", two cores", ours, "data.table `fread`, two threads, reading alone",
        inside(["Rscript", "read.R", archive, "fread", "5", "2"]), "ratio about 1")
    case, ours = "`check` of them, whole process", whole([PROGRAM, "check", archive], 5)
    row(case, ours, "Python with numpy `loadtxt`, whole process, reading alone", whole([python, "read_numpy.py", archive, "1"], 5), "")
    row(case, ours, "R with `fread`, two threads, whole process, reading alone", whole(["Rscript", "read.R", archive, "fread", "1", "2"], 5), "")
    row("the whole job on it: read, check, fit, tables of 5,000 injectors", inside([OURS, "job", archive], 2),
        "numpy `loadtxt`, reading alone", numpy, "ratio above 1, 250 MB")


def workbook(python):
    book = file("archive.xlsx")
    row("the same rows as a workbook, read and checked, one core", inside([OURS, "read", book], 1),
        "excelize going through the rows alone", inside([OURS, "iterate", book], 1), "ratio above 0.77, 400 MB")


def fits(python):
    lines = benchmark("./fit/internal/lsq", "Line20x50000")
    case = "20 straight lines of 50,000 readings with standard errors"
    row(case, lines, "numpy `lstsq`", inside([python, "lines.py", "20"]), "10 ms, ratio above 10")
    row(case, lines, "R `lm`", inside(["Rscript", "lines.R", "5"]), "ratio above 30")
    session = file("session.csv")
    ours = inside([OURS, "-n", "20", "fit", session], 2)
    case = "mapped session of 8 injectors, robust, with model choice"
    row(case, ours, "scipy `least_squares`, robust, the choice among the same forms", inside([python, "session.py", session, "3", "choice"]), "50 ms, ratio above 20")
    row(case, ours, "scipy `least_squares`, robust, the form chosen alone", inside([python, "session.py", session, "3", "one"]), "")


def growth(python):
    sizes = [3, 4, 5, 6]
    names = {n: file(f"growth-{n}.csv") for n in sizes[:-1]} | {6: file("archive.csv")}
    for verb, case in (("read", "read and check"), ("job", "the whole job")):
        cpu = [inside([OURS, "-n", "3" if n < 6 else "1", verb, names[n]], 1).cpu for n in sizes]
        each = ", ".join(f"10^{n}: {show(t)}" for n, t in zip(sizes, cpu))
        alone(f"growth of {case} with the readings, processor time", f"exponent {exponent(sizes, cpu):.2f} ({each})", "1.1")
    for verb, case in (("read", "read and checked"), ("job", "for the whole job")):
        alone(f"4,000,000 readings of the injectors and conditions of those 1,000,000, {case}, one core", both(inside([OURS, verb, file("repeats.csv")], 1)), "250 MB")


def exponent(sizes, times):
    x, y = sizes, [math.log10(t) for t in times]
    mx, my = sum(x) / len(x), sum(y) / len(y)
    return sum((a - mx) * (b - my) for a, b in zip(x, y)) / sum((a - mx) ** 2 for a in x)


def matching(python):
    for n in (20, 200):
        case = f"the best 8 of {n} at six points, proven"
        ours = benchmark("./tables/match", "Search$", INJTAB_PILE=os.path.abspath(file(f"pile-{n}.csv")))
        answer = inside([OURS, "-n", "20", "match", file(f"pile-{n}.csv")])
        highs = inside([python, "pile.py", file(f"pile-{n}.csv"), str(SOLVER_SECONDS)])
        row(case, ours, "HiGHS" + stopped(highs), highs, "")
        _, glpk = process(["glpsol", "--lp", file(f"pile-{n}.lp"), "--tmlim", str(SOLVER_SECONDS)])
        row(case, ours, "GLPK" + stopped(glpk), glpk, "ratio above 1000" if n == 200 else "")
        alone(case + ", with what noise does to it, spares and reasons", both(answer), "")


def stopped(took):
    return f", stopped after {SOLVER_SECONDS} s, unproven" if took.wall > SOLVER_SECONDS else ""


def versions(python):
    said = lambda args: subprocess.run(args, capture_output=True, text=True, check=True).stdout.strip().splitlines()[0]
    print("; ".join([said(["go", "version"]).removeprefix("go version "),
                     said([python, "-c", "import platform, numpy, scipy; print('Python', platform.python_version() + '; numpy', numpy.__version__ + '; scipy', scipy.__version__)"]),
                     said(["Rscript", "-e", "cat(R.version.string, '; data.table ', as.character(packageVersion('data.table')), sep='')"]),
                     said(["glpsol", "--version"]).split(": ")[-1], f"{os.cpu_count()} cores, {platform.machine()}"]), flush=True)


PARTS = {"starts": starts, "fits": fits, "matching": matching, "reading": reading, "growth": growth, "workbook": workbook}

versions(sys.executable)
print("\n| case | ours | compared with | theirs | theirs / ours | limit |\n|---|---|---|---|---|---|", flush=True)
for name in os.environ.get("PARTS", " ".join(PARTS)).split():
    PARTS[name](sys.executable)
