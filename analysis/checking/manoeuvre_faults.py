"""The ids under which reading and averaging tries of manoeuvres report something, and why that matters."""

from __future__ import annotations

MANOEUVRE_FAULTS: dict[str, str] = {
    "manoeuvre-unknown": "A row of tries names a manoeuvre that the protocol does not have.",
    "manoeuvres-alone": "The trial has tries of manoeuvres and no runs.",
    "no-tries": "The table of tries holds none.",
    "no-tries-yet": "The trial's table of tries of manoeuvres is not there yet.",
    "tries-one-way": "Sessions were tried one way only and have no value of a manoeuvre.",
    "tries-unbalanced": "A session has more tries one way than the other.",
    "try-empty": "A row of tries has no value.",
    "try-number": "A row of tries does not say which try it is.",
    "try-repeated": "One try stands in two rows.",
    "value-not-positive": "A value that is compared as a ratio is zero or below.",
    "value-of-another": "A row of tries has a value that is read of another manoeuvre.",
}

MANOEUVRE_REASONS: dict[str, str] = {
    "manoeuvre-unknown": "A row belongs to a manoeuvre by its name or its title in the protocol. What was "
    "tried beside them was not declared, and belongs into a table of its own.",
    "manoeuvres-alone": "Manoeuvres can be judged without runs. But runs tell what speed the boat made on the "
    "day, and what the water did; and a table of runs that was meant and not found would be missed otherwise.",
    "no-tries": "Below the headings stands one row for each try, in either direction of every session.",
    "no-tries-yet": "Before the trial there is no table of tries, and only what is declared was looked at. "
    "After it, check the name under 'manoeuvres:'.",
    "tries-one-way": "Wind, current and the turn of a propeller make one direction quicker or wider than the "
    "other, often by more than what is looked for. A session that has one of them alone would bring that in as "
    "if it were the boat's, so it has no value.",
    "tries-unbalanced": "Directions are averaged alike, whatever their number of tries, so that more tries one "
    "way do not pull the value there. It is then only as certain as the direction with fewer tries.",
    "try-empty": "A try without a value says nothing, and whether it was missed or broken off is worth knowing: "
    "write why under set_aside, or delete the row.",
    "try-number": "Tries are numbered 1, 2, 3, … within session, manoeuvre and direction, in the order made: it "
    "shows what crews learn from one to the next, and that none stands there twice.",
    "try-repeated": "The same try twice makes its session look surer than it is. Number each try once; one that "
    "does not count is set aside with its reason.",
    "value-not-positive": "A time or a length of nought has no ratio to any other. Most likely it stands for a "
    "value that was not read: leave the cell empty then.",
    "value-of-another": "A value in the column of another manoeuvre is most likely one column off, or the row "
    "names the wrong manoeuvre. Neither is guessed at.",
}
