"""Many frames, unattended: a plan of every output, and the run that carries it out; nothing heavy is loaded here."""

from poise.batch.plan import Job, PassedOver, Plan, Target, plan
from poise.batch.run import Outcome, Summary, here, outstanding, run

__all__ = [
    "Job",
    "Outcome",
    "PassedOver",
    "Plan",
    "Summary",
    "Target",
    "here",
    "outstanding",
    "plan",
    "run",
]
