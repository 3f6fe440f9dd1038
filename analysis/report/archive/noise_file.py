"""The noise of an archive's trials as a file for plans and protocols, with what it is not made of."""

from __future__ import annotations

from slackwater.analysis.archive.answer import ArchiveResult
from slackwater.analysis.report.noise.yaml_block import block
from slackwater.analysis.wording.characters import printable


def noise_file(result: ArchiveResult) -> str:
    """The block as YAML, what was left out in comments, with the reason."""
    plans = result.method.plans
    left = [f"# left out: {printable(trial)}: {printable(why)}" for trial, why in plans.left_out]
    left += [f"# left out: {printable(each.path)}: it is broken" for each in result.broken]
    apart = [
        f"# stands out: {printable(each.trial)}: {each.quantity} scatters {each.times:.2g} times as "
        "much as in the others"
        for each in plans.scatter
        if each.stands_out
    ]
    return "\n".join([block(plans.noise).rstrip("\n"), *left, *apart]) + "\n"
