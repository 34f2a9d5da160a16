"""Make the stored flow truths: ``python tests/reference/make_truth.py [name ...]``.

Invents two meandering reaches and lets ``shallow_water`` settle on each at three
discharges. Takes some minutes a reach; the result is data/flow_truth/<name>.npz.
Nothing here is fitted to any river or to any method that is tested against it.
"""

from __future__ import annotations

import importlib.util
import sys
import time
from dataclasses import dataclass
from pathlib import Path

import numpy as np

HERE = Path(__file__).parent
FOLDER = HERE / "data" / "flow_truth"

REACH_M, LEAD_M, TAIL_M = 1600.0, 96.0, 104.0
"""The scored reach, and what is added above and below it for the ends' sake."""

WIDTH_M, ALONG_M, ACROSS = 34.0, 4.0, 24
FLOWS_M3_S = {"low": 10.0, "normal": 20.0, "high": 36.0}
ORIGIN = (441_000.0, 203_000.0)


@dataclass(frozen=True)
class Design:
    """What differs between the invented reaches."""

    name: str
    seed: int
    slope: float
    manning_sd: float
    turn: float
    wave_m: float


DESIGNS = {
    "uniform": Design("uniform", 21, 5.5e-4, 0.0, 0.80, 400.0),
    "patchy": Design("patchy", 22, 6.0e-4, 0.006, -0.75, 380.0),
}
MANNING = 0.032


def load_solver():
    """Return the module beside this file, however this one was started."""
    if "shallow_water" not in sys.modules:
        place = HERE / "shallow_water.py"
        spec = importlib.util.spec_from_file_location("shallow_water", place)
        module = importlib.util.module_from_spec(spec)
        sys.modules["shallow_water"] = module
        spec.loader.exec_module(module)
    return sys.modules["shallow_water"]


def bend_heading(design, chainage_m):
    """Return the heading (rad) of a sine-generated meander whose bends differ.

    The bends fade out at both ends, so that water enters and leaves straight.
    """
    inside = np.clip(chainage_m / REACH_M, 0.0, 1.0)
    swell = 0.8 + 0.2 * np.sin(2 * np.pi * 1.5 * inside + design.seed)
    fade = np.clip(np.minimum(chainage_m, REACH_M - chainage_m) / 120.0, 0.0, 1.0)
    swell *= fade * fade * (3 - 2 * fade)
    return design.turn * swell * np.sin(2 * np.pi * chainage_m / design.wave_m)


def half_width_m(design, chainage_m):
    """Return half the width: 34 m between banks, give or take 2 m."""
    return WIDTH_M / 2 + np.sin(2 * np.pi * chainage_m / 230.0 + design.seed)


def smooth_noise(rng, chainage_m, offset_m, *, length_m):
    """Return unit noise correlated over ``length_m``: a sum of 400 plane waves."""
    wave = rng.normal(0.0, 1.0 / length_m, (2, 400))
    phase = rng.uniform(0.0, 2 * np.pi, 400)
    field = np.zeros(chainage_m.shape)
    for (k, m), start in zip(wave.T, phase, strict=True):
        field += np.cos(k * chainage_m + m * offset_m + start)
    return field * np.sqrt(2.0 / 400)


def bed_depth_m(design, chainage_m, offset_m, curvature):
    """Return how far the bed lies under the reach's plane, near normal depth.

    Trough between banks, pools at the outer bank and riffles between, alternate
    bars, humps and holes of 6-14 m, and relief of 0.08 m correlated over 8 m.
    """
    rng = np.random.default_rng(design.seed)
    across = offset_m / half_width_m(design, chainage_m)
    pool = np.abs(curvature) / np.abs(curvature).max()
    depth = 1.0 + 0.85 * (pool - 0.45)
    tilt = -1.15 * curvature / np.abs(curvature).max()
    bars = 0.18 * np.sin(2 * np.pi * chainage_m / 170.0 + design.seed)
    depth = depth * (1.0 + (tilt + bars) * across * 0.62)
    depth *= 1.0 - 0.7 * np.abs(across) ** 6
    for _ in range(32):
        s, n = rng.uniform(-40, REACH_M + 40), rng.uniform(-12, 12)
        wide, tall = rng.uniform(3, 7), rng.choice([-1, 1]) * rng.uniform(0.25, 0.6)
        far = ((chainage_m - s) / (1.6 * wide)) ** 2 + ((offset_m - n) / wide) ** 2
        depth += tall * np.exp(-far / 2)
    relief = smooth_noise(rng, chainage_m, offset_m, length_m=8.0)
    return np.maximum(depth + 0.08 * relief, 0.25)


def manning_field(design, chainage_m, offset_m):
    """Return Manning's n: 0.032, patches of 20 m with the design's spread."""
    rng = np.random.default_rng(design.seed + 100)
    noise = smooth_noise(rng, chainage_m, offset_m, length_m=20.0)
    return np.clip(MANNING + design.manning_sd * noise, 0.015, 0.055)


def axis_of(design, chainage_m):
    """Return easting, northing and heading of the axis at corner stations."""
    fine = np.arange(chainage_m[0], chainage_m[-1] + 0.25, 0.5)
    heading = bend_heading(design, fine)
    mid = 0.5 * (heading[1:] + heading[:-1])
    east = ORIGIN[0] + np.concatenate([[0.0], np.cumsum(0.5 * np.cos(mid))])
    north = ORIGIN[1] + np.concatenate([[0.0], np.cumsum(0.5 * np.sin(mid))])
    return (
        np.interp(chainage_m, fine, east),
        np.interp(chainage_m, fine, north),
        bend_heading(design, chainage_m),
    )


def smooth_curvature(design, chainage_m, *, lag_m=15.0, width_m=25.0):
    """Return curvature blurred and shifted downstream, as pools lag their bends."""
    steps = np.arange(-3 * width_m, 3 * width_m + 1, 5.0)
    weight = np.exp(-0.5 * (steps / width_m) ** 2)
    total = np.zeros(chainage_m.shape)
    for step, share in zip(steps, weight / weight.sum(), strict=True):
        at = chainage_m - lag_m + step
        total += share * (bend_heading(design, at + 1) - bend_heading(design, at - 1))
    return total / 2.0


def make_case(design, *, finer=1.0, start_m=-LEAD_M, end_m=REACH_M + TAIL_M):
    """Return the case without ends' values, and chainage, offset of its centres."""
    sw = load_solver()
    along = round((end_m - start_m) / ALONG_M * finer)
    across = round(ACROSS * finer)
    corner_s = np.linspace(start_m, end_m, along + 1)
    unit = np.linspace(-1.0, 1.0, across + 1)
    corner_n = half_width_m(design, corner_s)[:, None] * unit
    mesh = sw.Mesh.along(*axis_of(design, corner_s), corner_n)
    s = np.broadcast_to(0.5 * (corner_s[1:] + corner_s[:-1])[:, None], mesh.shape)
    n = 0.25 * (
        corner_n[1:, 1:] + corner_n[1:, :-1] + corner_n[:-1, 1:] + corner_n[:-1, :-1]
    )
    bend = smooth_curvature(design, s[:, 0])[:, None]
    bed = 20.0 - design.slope * s - bed_depth_m(design, s, n, bend)
    bed = bed.astype(np.float32).astype(float)
    manning = manning_field(design, s, n).astype(np.float32).astype(float)
    return sw.Case(mesh, bed, manning), s, n


def normal_stage_m(case, *, slope, flow_m3_s, rows=25):
    """Return the stage at the lower end whose friction slope is the reach's slope.

    The slope at the last rows is the plane's; conveyance summed over their mean.
    """
    end = case.mesh.corner_easting.shape[0] - 1
    near = slice(end - rows, end)
    chain = (np.arange(rows) - rows + 0.5) * float(case.mesh.step_m[0].mean())
    wide = 0.5 * (case.mesh.across.length_m[1:] + case.mesh.across.length_m[:-1])[near]
    low, high = 15.0, 25.0
    for _ in range(60):
        stage = 0.5 * (low + high)
        depth = np.maximum(stage - slope * chain[:, None] - case.bed_m[near], 0.0)
        carried = (depth ** (5 / 3) / case.manning[near] * wide).sum(axis=1).mean()
        low, high = (stage, high) if carried * slope**0.5 < flow_m3_s else (low, stage)
    return stage


def settle_level(design, flow_m3_s, *, steps=(500, 800)):
    """Return the settled case and state at one discharge, from coarse to fine."""
    sw = load_solver()
    coarse = make_case(design, finer=0.5)[0]
    stage = normal_stage_m(coarse, slope=design.slope, flow_m3_s=flow_m3_s)
    ends = {"inflow_m3_s": flow_m3_s, "stage_m": stage}
    coarse = sw.with_ends(coarse, **ends)
    state = sw.first_guess(coarse, sw.backwater_m(coarse))
    state = march_and_report(coarse, state, steps[0])
    case = sw.with_ends(make_case(design)[0], **ends)
    state = march_and_report(case, sw.refine(case, coarse, state), steps[1])
    return case, state


def march_and_report(case, state, steps, *, rounds=6):
    """March in rounds, hastening the storage between them but not after the last."""
    sw = load_solver()
    for _ in range(rounds):
        state = sw.hasten(case, sw.march(case, state, steps=steps))
        report(case, state)
    state = sw.march(case, state, steps=steps)
    report(case, state)
    return state


def report(case, state):
    """Print how still the state is and what passes its sections."""
    sw = load_solver()
    through = sw.section_discharge_m3_s(case, state)
    print(  # noqa: T201 (the script's own log)
        f"  {case.mesh.shape}: dh/dt {sw.stillness(case, state):.1e} m/s, "
        f"Q {through.min():.3f}-{through.max():.3f}",
        flush=True,
    )


def make(design):
    """Settle one design at all flows and store it."""
    sw = load_solver()
    case, s, n = make_case(design)
    kept = {"bed_m": case.bed_m, "manning": case.manning, "s": s[:, 0], "n": n}
    kept["corner_easting"] = case.mesh.corner_easting - ORIGIN[0]
    kept["corner_northing"] = case.mesh.corner_northing - ORIGIN[1]
    stored = {name: values.astype(np.float32) for name, values in kept.items()}
    stored["origin"] = np.array(ORIGIN)
    stored["slope"] = np.array(design.slope)
    for level, flow in FLOWS_M3_S.items():
        start = time.process_time()
        case, state = settle_level(design, flow)
        through = sw.section_discharge_m3_s(case, state)
        cells = sw.cell_discharge_m3_s(case, state)
        print(  # noqa: T201 (the script's own log)
            f"{design.name} {level}: mean speed {np.nanmean(sw.speed_m_s(state)):.3f}, "
            f"depth {state[0][state[0] > 0.05].mean():.3f}, Q through faces "
            f"{through.min():.3f}-{through.max():.3f}, by cells "
            f"{cells.min():.2f}-{cells.max():.2f}, {time.process_time() - start:.0f} s",
            flush=True,
        )
        stored[f"state_{level}"] = state.astype(np.float32)
        stored[f"ends_{level}"] = np.array([flow, case.stage_m])
    FOLDER.mkdir(parents=True, exist_ok=True)
    np.savez_compressed(FOLDER / f"{design.name}.npz", **stored)


if __name__ == "__main__":
    for chosen in sys.argv[1:] or list(DESIGNS):
        make(DESIGNS[chosen])
