"""What no reason in a job file makes good: the codes of findings, by the hazard behind each."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from flushwork.job.records import Job

NEVER_ACCEPTED: Final[Mapping[str, str]] = {
    "clamp-hit": "a bit that meets a clamp or a stop breaks and flies",
    "outside-machine": "the machine runs into its own end and loses its place",
    "below-spoilboard": "the bit runs into the machine's bed",
    "rapid-through-material": "a bit driven through wood at full speed breaks and flies",
    "plunge-too-fast": "a bit pushed down too fast breaks and flies",
    "spindle-backwards": "a bit turned backwards rubs, burns and breaks",
    "ends-in-wood": "whoever takes the board out reaches under a bit that is stuck in it",
    "pause-in-wood": "a bit that stops or starts in the wood breaks and flies",
    "dwell-in-cut": "a bit that turns in one place can set dust alight",
    "tabs-missing": "a piece that comes free is thrown",
    "holder-touches": "a holder that touches turning is torn out, and burns",
    "flutes-too-short": "a smooth shank that rubs burns the wood and breaks",
    "bit-cannot-pass": "a cut that cannot be made stays unmade",
    "bit-over-speed": "a bit over its speed is thrown apart",
    "cut-before-cure": "the dust of uncured resin can make you allergic for good",
    "cure-cut-short": "the dust of uncured resin can make you allergic for good",
    "flame-near-solvent": "its vapour catches fire before you see it",
    "heat-near-dust": "a cloud of it explodes",
    "oxidiser-in-mix": "together they can light by themselves",
    "cup-runs-away": "a cup that runs away smokes and can catch fire",
    "trim-without-tabs": "a piece that comes free is thrown",
    "freed-then-set-up": "a piece that comes loose under a bit is thrown",
}
"""Why each is never accepted (common practice, no source)."""


def accepted_words(job: Job) -> tuple[str, ...]:
    """Return what a job accepts, a sentence each, for whoever stands at the machine."""
    return tuple(
        f"ACCEPTED in the job file: {each.code}{_of(each.subject)}. Reason given: {each.because}"
        for each in job.accepted
        if each.code not in NEVER_ACCEPTED
    )


def _of(subject: str) -> str:
    return f", {subject}" if subject else ""
