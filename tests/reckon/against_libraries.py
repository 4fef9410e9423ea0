#!/usr/bin/env python3
"""A second opinion on the chemistry, by libraries that others wrote: phreeqpython, PyCO2SYS and gsw from PyPI.

They are installed into a virtual environment under target/. A thousand random waters are given to them and to
`holdfast reckon`; the largest and the usual difference of each quantity are printed, and one out of its tolerance fails.
Where PyPI cannot be reached it says so and passes. `--speed` also times PHREEQC and `holdfast reckon` on the same cases.
"""

import argparse
import json
import os
import random
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
PLACE = ROOT / "target" / "second-opinion"
PACKAGES = ["phreeqpython==1.6.2", "PyCO2SYS==1.8.3.4", "gsw==3.6.23"]
MG_CACO3_PER_MEQ = 50.04345


def in_own_environment(arguments):
    """Runs this file again with the Python that has the libraries; ends with 0 where they cannot be had."""
    python = PLACE / "bin" / "python"
    ready = PLACE / "ready"
    if not ready.exists():
        try:
            subprocess.run([sys.executable, "-m", "venv", "--clear", PLACE], check=True, capture_output=True)
            pip = [python, "-m", "pip", "install", "--quiet", "--disable-pip-version-check", "--retries", "1", *PACKAGES]
            subprocess.run(pip, check=True, capture_output=True, timeout=300)
            ready.touch()
        except (OSError, subprocess.SubprocessError) as error:
            print(f"SKIPPED: the second opinion on the chemistry needs Python with venv and PyPI ({error})")
            return 0
    return subprocess.call([python, __file__, "--inside", *arguments])


def reckon(binary, questions):
    """The values of questions (quantity, inputs), in order."""
    lines = "".join(json.dumps({"quantity": name, "inputs": inputs}) + "\n" for name, inputs in questions)
    done = subprocess.run([binary, "reckon"], input=lines, capture_output=True, text=True, check=True)
    answers = [json.loads(line) for line in done.stdout.splitlines()]
    wrong = next((pair for pair in zip(questions, answers) if "error" in pair[1]), None)
    if wrong:
        sys.exit(f"{wrong[0]}: {wrong[1]['error']}")
    return [answer["value"] for answer in answers]


def water(chance):
    return {
        "temp_c": round(chance.uniform(15, 32), 2),
        "ph": round(chance.uniform(5.8, 8.6), 3),
        "alk_mg_l_caco3": round(chance.uniform(20, 300), 1),
    }


def solution(phreeqc, given, extra=None):
    parts = {
        "pH": given["ph"],
        "temp": given["temp_c"],
        "Alkalinity": given["alk_mg_l_caco3"] / MG_CACO3_PER_MEQ,
        "Na": "1 charge",
    }
    return phreeqc.add_solution(parts | (extra or {}))


def compare(name, ours, theirs, limit, relative=False):
    """Prints one row and tells whether the largest difference is within the limit."""
    apart = [abs(a - b) / (abs(b) if relative else 1) for a, b in zip(ours, theirs)]
    apart.sort()
    unit = " %" if relative else ""
    scale = 100 if relative else 1
    shown = [f"{scale * value:.4f}{unit}" for value in (sum(apart) / len(apart), apart[int(0.95 * len(apart))], apart[-1])]
    well = apart[-1] <= limit
    print(f"{name:<44}{len(apart):>6}{shown[0]:>12}{shown[1]:>12}{shown[2]:>12}   {'ok' if well else 'OUTSIDE'} {scale * limit:g}{unit}")
    return well


def phreeqc_checks(binary, chance):
    from phreeqpython import PhreeqPython

    phreeqc = PhreeqPython(database="phreeqc.dat")
    waters = [water(chance) for _ in range(1000)]
    airs = [round(chance.uniform(400, 1500)) for _ in waters]
    pairs = [(chance.uniform(0.5, 12), chance.uniform(0.5, 12)) for _ in range(len(waters) // 2)]
    co2, opened, mixed = [], [], []
    kept = []
    for given, air in zip(waters, airs):
        try:
            made = solution(phreeqc, given)
        except Exception:
            # PHREEQC finds no such water: a pH and an alkalinity that cannot be true together.
            kept.append(None)
            continue
        kept.append(made)
        co2.append(made.species_molalities.get("CO2", 0.0) * 44009.5)
        gassed = made.copy()
        gassed.equalize(["CO2(g)"], [__import__("math").log10(air * 1e-6)])
        opened.append(gassed.pH)
        gassed.forget()
    for (a, b), one, two in zip(pairs, kept[0::2], kept[1::2]):
        mix = phreeqc.mix_solutions({one: a / (a + b), two: b / (a + b)})
        mixed.append(mix.pH)
        mix.forget()
    ours = reckon(binary, [("co2_mg_l", given) for given in waters])
    well = compare("CO2, phreeqc.dat", ours, co2, 0.01, relative=True)
    ours = reckon(binary, [("ph_after_degas", given | {"pco2_uatm": air}) for given, air in zip(waters, airs)])
    well &= compare("pH under air, phreeqc.dat", ours, opened, 0.006)
    questions = [
        ("ph_of_mix", {"waters": [one | {"volume_l": a}, two | {"volume_l": b}]})
        for (a, b), one, two in zip(pairs, waters[0::2], waters[1::2])
    ]
    well &= compare("pH of a mix, phreeqc.dat", reckon(binary, questions), mixed, 0.02)
    return well


def pyco2sys_checks(binary, chance):
    import PyCO2SYS

    waters = [water(chance) for _ in range(1000)]
    column = {key: [given[key] for given in waters] for key in waters[0]}
    found = PyCO2SYS.sys(
        par1=[value / MG_CACO3_PER_MEQ * 1000 for value in column["alk_mg_l_caco3"]],
        par1_type=1,
        par2=column["ph"],
        par2_type=3,
        temperature=column["temp_c"],
        salinity=0,
        opt_k_carbonic=8,
    )
    theirs = [float(value) * 44.0095e-3 for value in found["CO2"]]
    ours = reckon(binary, [("co2_mg_l", given) for given in waters])
    # PyCO2SYS has no activities in fresh water, which makes up to 10 % of CO2.
    return compare("CO2, PyCO2SYS without activities", ours, theirs, 0.11, relative=True)


def gsw_checks(binary, chance):
    import gsw

    waters = [{"temp_c": round(chance.uniform(5, 32), 2), "sal_ppt": round(chance.uniform(0, 36), 2)} for _ in range(1000)]
    theirs = []
    for given in waters:
        absolute = gsw.SA_from_SP(given["sal_ppt"], 0, 0, 0)
        conservative = gsw.CT_from_t(absolute, given["temp_c"], 0)
        micromoles = gsw.O2sol(absolute, conservative, 0, 0, 0)
        theirs.append(float(micromoles) * 31.9988e-3 * float(gsw.rho(absolute, conservative, 0)) / 1000)
    ours = reckon(binary, [("do_sat_mg_l", given) for given in waters])
    well = compare("oxygen, gsw (Garcia & Gordon 1992)", ours, theirs, 0.006)
    states = [(round(chance.uniform(4, 55), 3), round(chance.uniform(15, 32), 2)) for _ in range(1000)]
    pairs = [(c, t, float(gsw.SP_from_C(c, t, 0))) for c, t in states]
    pairs = [(c, t, s) for c, t, s in pairs if 2 <= s <= 41]
    ours = reckon(binary, [("sal_from_ec", {"ec_ms_cm": c, "temp_c": t}) for c, t, _ in pairs])
    return well & compare("salinity from conductivity, gsw", ours, [s for _, _, s in pairs], 0.01)


def speed(binary, chance):
    from math import log10

    from phreeqpython import PhreeqPython

    phreeqc = PhreeqPython(database="phreeqc.dat")
    waters = [water(chance) | {"pco2_uatm": round(chance.uniform(400, 1500))} for _ in range(10_000)]
    start = time.perf_counter()
    for given in waters:
        made = solution(phreeqc, given)
        made.equalize(["CO2(g)"], [log10(given["pco2_uatm"] * 1e-6)])
        made.forget()
    theirs = len(waters) / (time.perf_counter() - start)
    start = time.perf_counter()
    reckon(binary, [("ph_after_degas", given) for given in waters])
    ours = len(waters) / (time.perf_counter() - start)
    print(f"PHREEQC {theirs:,.0f} opened waters a second; holdfast reckon {ours:,.0f}, JSON and process included: {ours / theirs:.0f} times")


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--binary", default=str(ROOT / "target" / "debug" / "holdfast"))
    parser.add_argument("--seed", type=int, default=2026)
    parser.add_argument("--speed", action="store_true")
    parser.add_argument("--inside", action="store_true", help=argparse.SUPPRESS)
    given = parser.parse_args()
    if not given.inside:
        return in_own_environment(sys.argv[1:])
    os.environ.setdefault("PYTHONWARNINGS", "ignore")
    chance = random.Random(given.seed)
    print(f"{'quantity, library':<44}{'cases':>6}{'mean':>12}{'95 of 100':>12}{'largest':>12}   limit")
    checks = [phreeqc_checks, pyco2sys_checks, gsw_checks]
    well = all([check(given.binary, chance) for check in checks])
    if given.speed:
        speed(given.binary, chance)
    return 0 if well else 1


if __name__ == "__main__":
    sys.exit(main())
