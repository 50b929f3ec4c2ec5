"""Other ways to find a stall, on the curves that the accuracy example exports.

    cargo run -p phases --example accuracy -- export FOLDER 6
    python -m venv VENV && VENV/bin/pip install -r tests/peers/requirements.txt
    VENV/bin/python tests/peers/segmenters.py FOLDER tests/peers/results.csv

Every method gets the same cleaned readings: impossible values and lone spikes removed, medians of
five minutes, [meat-on, pull). Each is given the best chance that its kind has: thresholds are
chosen on the same cooks that are scored.

rate threshold      the stall is where the slope over 30 min is below a fixed rate (the best of a
                    row of rates for all cooks together), runs joined and kept as in the definition
piecewise linear    exact dynamic programming with continuous linear pieces (ruptures, `Dynp` with
                    cost `clinear`), six pieces; the stall is where a piece is flatter than a share
                    (the best of a row) of the steepest piece
Gaussian HMM        three states on slope and temperature (hmmlearn, `GaussianHMM`), ten starts; the
                    stall is the state of the least slope
"""

import collections
import csv
import importlib.metadata
import logging
import statistics
import sys
import warnings

import numpy as np
import ruptures
from hmmlearn.hmm import GaussianHMM

# A start that does not converge is one of ten.
logging.getLogger("hmmlearn").setLevel(logging.ERROR)

STEP_S = 300.0
JOIN = 900.0 / STEP_S
KEEP = 1200.0 / STEP_S
FROM_C, UNTIL_C = 55.0, 90.0


def read(folder):
    truth = collections.OrderedDict()
    with open(f"{folder}/truth.csv", newline="") as file:
        for row in csv.DictReader(file):
            key = (row["category"], int(row["index"]))
            cook = truth.setdefault(
                key, {"on": float(row["meat_on_s"]), "pull": float(row["pull_s"]), "stalls": []}
            )
            if row["stall_start_s"]:
                cook["stalls"].append((float(row["stall_start_s"]), float(row["stall_end_s"])))
    logs = collections.defaultdict(list)
    with open(f"{folder}/logs.csv", newline="") as file:
        for row in csv.DictReader(file):
            key = (row["category"], int(row["index"]))
            logs[key].append((float(row["elapsed_s"]), float(row["core_c"])))
    for key, cook in truth.items():
        cook["times"], cook["core"] = medians(np.array(logs[key]), cook["on"], cook["pull"])
    return truth


def medians(samples, start, end):
    inside = samples[(samples[:, 0] >= start) & (samples[:, 0] < end)]
    inside = inside[(inside[:, 1] > -25) & (inside[:, 1] < 110)]
    times, values = [], []
    for low in np.arange(start, end, STEP_S):
        part = inside[(inside[:, 0] >= low) & (inside[:, 0] < low + STEP_S)]
        if len(part):
            times.append(low + STEP_S / 2)
            values.append(float(np.median(part[:, 1])))
    return np.array(times), np.array(values)


def slopes(times, values, half_s=900.0):
    out = np.full(len(times), np.nan)
    for i, at in enumerate(times):
        near = np.abs(times - at) <= half_s
        if near.sum() >= 3:
            out[i] = np.polyfit(times[near] - at, values[near], 1)[0] * 3600.0
    return out


def runs(times, inside):
    """Runs of samples that hold, joined and kept as the definition does."""
    found = []
    for i in np.flatnonzero(inside):
        if found and i - found[-1][1] <= JOIN:
            found[-1][1] = i + 1
            found[-1][2] += 1
        else:
            found.append([i, i + 1, 1])
    edge = STEP_S / 2
    return [(times[a] - edge, times[b - 1] + edge) for a, b, n in found if n >= KEEP]


def searched(core):
    reached = np.maximum.accumulate(core)
    return (reached >= FROM_C) & (reached < UNTIL_C)


def by_rate(cook, rate):
    return runs(cook["times"], searched(cook["core"]) & (slopes(cook["times"], cook["core"]) < rate))


def pieces(cook):
    core = cook["core"]
    if len(core) < 24:
        return None
    ends = ruptures.Dynp(model="clinear", min_size=3, jump=1).fit(core).predict(n_bkps=5)
    out, start = [], 0
    for end in ends:
        last = min(end, len(core) - 1)
        rate = (core[last] - core[start]) / (cook["times"][last] - cook["times"][start]) * 3600.0
        out.append((start, end, rate))
        start = end
    return out


def by_pieces(cook, share):
    if cook["pieces"] is None:
        return []
    steepest = max(rate for _, _, rate in cook["pieces"])
    flat = np.zeros(len(cook["core"]), bool)
    for start, end, rate in cook["pieces"]:
        flat[start:end] = rate < share * steepest
    return runs(cook["times"], flat & searched(cook["core"]))


def by_states(cook):
    rate = slopes(cook["times"], cook["core"])
    usable = np.isfinite(rate)
    if usable.sum() < 24:
        return []
    features = np.column_stack([rate[usable], cook["core"][usable]])
    features = (features - features.mean(0)) / features.std(0)
    best = None
    for seed in range(10):
        model = GaussianHMM(3, covariance_type="diag", n_iter=100, random_state=seed)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            model.fit(features)
            score = model.score(features)
        if best is None or score > best[0]:
            best = (score, model)
    states = best[1].predict(features)
    least = min(set(states), key=lambda state: rate[usable][states == state].mean())
    flat = np.zeros(len(rate), bool)
    flat[np.flatnonzero(usable)] = states == least
    return runs(cook["times"], flat & searched(cook["core"]))


def score(cooks, find):
    starts, ends, missed, stalls, extra, false, without = [], [], 0, 0, 0, 0, 0
    for cook in cooks:
        found = list(find(cook))
        if not cook["stalls"]:
            without += 1
            false += bool(found)
            continue
        last = cook["times"][-1] + STEP_S
        for start, end in cook["stalls"]:
            if start + 1200 > last or start < cook["times"][0]:
                continue
            stalls += 1
            overlap = [min(end, b) - max(start, a) for a, b in found]
            if not overlap or max(overlap) <= 0:
                missed += 1
                continue
            a, b = found.pop(int(np.argmax(overlap)))
            starts.append(abs(a - start) / 60)
            if end < last:
                ends.append(abs(b - end) / 60)
        extra += bool(found)
    q = lambda values, p: f"{np.quantile(values, p):.1f}" if values else ""
    return {
        "start_p50_min": q(starts, 0.5),
        "start_p90_min": q(starts, 0.9),
        "end_p50_min": q(ends, 0.5),
        "end_p90_min": q(ends, 0.9),
        "missed": missed,
        "of_stalls": stalls,
        "extra": extra,
        "false": false,
        "of_without": without,
    }


def best_of(cooks, find, settings):
    """The setting with the least sum of median errors and misses over all cooks."""

    def badness(setting):
        got = score(cooks, lambda cook: find(cook, setting))
        medians_ = [float(got[name] or 600) for name in ("start_p50_min", "end_p50_min")]
        wrong = got["missed"] + got["extra"] + got["false"]
        return statistics.mean(medians_) + 100.0 * wrong / len(cooks)

    return min(settings, key=badness)


def main():
    folder, target = sys.argv[1:3]
    truth = read(folder)
    cooks = [cook for cook in truth.values() if len(cook["core"]) >= 8]
    for cook in cooks:
        cook["pieces"] = pieces(cook)
    rate = best_of(cooks, by_rate, [2.0, 2.5, 3.0, 3.5, 4.0, 4.5, 5.0, 6.0])
    share = best_of(cooks, by_pieces, [0.15, 0.2, 0.25, 0.3, 0.35, 0.4])
    methods = {
        f"rate below {rate} C/h": lambda cook: by_rate(cook, rate),
        f"piecewise linear: flatter than {share} of the steepest": lambda cook: by_pieces(cook, share),
        "Gaussian HMM: three states": by_states,
    }
    versions = " ".join(
        f"{name}={importlib.metadata.version(name)}" for name in ("ruptures", "hmmlearn", "numpy")
    )
    noisy = [cook for key, cook in truth.items() if "noisy" in key[0] and len(cook["core"]) >= 8]
    with open(target, "w", newline="") as file:
        out = csv.writer(file, lineterminator="\n")
        columns = None
        for name, find in methods.items():
            for group, members in (("all", cooks), ("noisy", noisy)):
                got = score(members, find)
                if columns is None:
                    columns = list(got)
                    out.writerow(["method", "cooks", "n", *columns, "versions"])
                out.writerow([name, group, len(members), *got.values(), versions])


if __name__ == "__main__":
    main()
