"""Polled channels carried forward row by row: keep the true updates, each with its own time.

A logger that polls P channels in turn refreshes each of them every P rows and repeats it in between. The
beat P
shows in the rows where the value changes: their distances are multiples of P. Repeats on the beat are true
measurements of an unchanged value and stay; the others are copies and go. Without a beat nothing is touched,
because a coarse resolution looks the same.
"""

from collections import Counter

import numpy as np
from numpy.typing import NDArray

from heatproof.logs.reading.records import Channel, Dropped, Floats

MAX_BEAT = 128
FEWEST_CHANGES = 8
AGREE = 0.97

Rows = NDArray[np.intp]


def change_rows(values: Floats) -> Rows:
    """First measured row and every row whose value differs from the measured value before it."""
    rows = np.flatnonzero(np.isfinite(values))
    if not rows.size:
        return rows
    kept = values[rows]
    return rows[np.r_[True, kept[1:] != kept[:-1]]]


def beat_of(values: Floats) -> int:
    """Rows between true updates; 1 if the channel has no beat, 0 if it changes too rarely to tell."""
    steps = np.diff(change_rows(values))
    if steps.size < FEWEST_CHANGES:
        return 0
    # A lost row breaks one step; two are borne once there are enough steps to be sure.
    allowed = max((1 - AGREE) * steps.size, 2.0 if steps.size >= 30 else 0.0)
    lengths, times = np.unique(steps, return_counts=True)
    for beat in range(min(MAX_BEAT, int(steps.min()) + MAX_BEAT), 1, -1):
        if times[lengths % beat != 0].sum() <= allowed:
            return beat
    return 1


def update_rows(values: Floats, beat: int) -> Rows:
    """Rows of true updates for a known beat; it starts anew at every change, so a lost row does no harm."""
    changes = change_rows(values)
    if not changes.size:
        return changes
    ends = np.append(changes[1:], np.flatnonzero(np.isfinite(values))[-1] + 1)
    # A beat that ends within half a beat of the next change is that change, shifted by a lost row.
    spare = np.where(np.arange(changes.size) < changes.size - 1, beat // 2, 0)
    counts = np.maximum(1, -(-(ends - changes - spare) // beat))
    place = np.arange(counts.sum()) - np.repeat(np.cumsum(counts) - counts, counts)
    rows = np.repeat(changes, counts) + beat * place
    return rows[np.isfinite(values[rows])]


def undo_staircase(channels: tuple[Channel, ...]) -> tuple[tuple[Channel, ...], tuple[Dropped, ...]]:
    """Channels with their true updates only, and what was taken out.

    A channel that changes too rarely takes the beat of the channels that share its time, if most agree.
    """
    beats = [beat_of(c.values) for c in channels]
    common = _common_beats(channels, beats)
    out, dropped = [], []
    for channel, own in zip(channels, beats, strict=True):
        beat = own or common.get(_group(channel), 1)
        if beat < 2:
            out.append(channel)
            continue
        rows = update_rows(channel.values, beat)
        measured = int(channel.measured.sum())
        out.append(channel.with_data(channel.time_s[rows], channel.values[rows]))
        why = f"copies of the value before: one true update every {beat} rows"
        dropped.append(Dropped(channel.column, "staircase", measured - rows.size, measured, why))
    return tuple(out), tuple(dropped)


def _group(channel: Channel) -> tuple[int, float]:
    return channel.time_s.size, float(channel.time_s[0]) if channel.time_s.size else 0.0


def _common_beats(channels: tuple[Channel, ...], beats: list[int]) -> dict[tuple[int, float], int]:
    found: dict[tuple[int, float], Counter[int]] = {}
    for channel, beat in zip(channels, beats, strict=True):
        if beat:
            found.setdefault(_group(channel), Counter())[beat] += 1
    out = {}
    for group, count in found.items():
        beat, hits = count.most_common(1)[0]
        if hits >= 0.6 * count.total():
            out[group] = beat
    return out
