"""What the rules found, as text: each finding with its place, then the count."""

from __future__ import annotations

from slackwater.analysis.checking.check_result import CheckResult
from slackwater.analysis.wording.gathering import gathered
from slackwater.analysis.wording.words import count_of, severities

NAMED = 3  # rules that lack the same, named one by one


def count(result: CheckResult) -> str:
    """The line that counts: what is one fact counts once."""
    checked, files = result.checked, len(result.seen)
    waived = f", {len(checked.waived)} waived" if checked.waived else ""
    why = "; 'slackwater explain RULE' says why" if checked.findings else ""
    found = severities(gathered(checked.findings)) or "nothing found"
    blind = {rule for rules, _, _ in result.unseen() for rule in rules}
    if blind:
        why = f"; {count_of(len(blind), 'rule')} could not look at everything{why}"
    return f"{found}{waived} in {files} file{'' if files == 1 else 's'}{why}"


def _unseen(result: CheckResult) -> list[str]:
    """What could not be looked at, so that silence is not taken for a pass."""
    lines = []
    for rules, why, lets in result.unseen():
        more = f" and {len(rules) - NAMED} more rules" if len(rules) > NAMED else ""
        lines.append(f"not looked at: {why} [{', '.join(rules[:NAMED])}{more}]")
        lines.append(f"    it takes: {lets}")
    return lines


def _seals(result: CheckResult) -> list[tuple[str, str]]:
    """What seals say of the files, for the head."""
    known = [(each.file, each.identity) for each in result.seen if each.identity is not None]
    return [(file, each.seal.sentence) for file, each in known if each.seal.sentence]


def render(result: CheckResult) -> str:
    """The findings as text."""
    lines = [f"{file}: {said}" for file, said in _seals(result)]
    lines += [each.render() for each in gathered(result.checked.findings)]
    for waiver in result.waivers():
        silenced = waiver["silenced"]
        told = f"silences {silenced}" if silenced else "silences nothing"
        lines.append(f"{waiver['file']}: waived [{waiver['rule']}], {told}: {waiver['reason']}")
    lines += _unseen(result)
    lines.append(count(result))
    return "\n".join(lines) + "\n"
