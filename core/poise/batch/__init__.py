"""Many frames, unattended: a plan of every output, and the run that carries it out; nothing heavy is loaded here."""

from poise.batch.plan import Decision, Job, PassedOver, Plan, Target, plan
from poise.batch.run import Summary, run

__all__ = ["Decision", "Job", "PassedOver", "Plan", "Summary", "Target", "plan", "run"]
