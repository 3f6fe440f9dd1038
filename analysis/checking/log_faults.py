"""The ids under which reading logs and cutting runs from them report something, and why that matters."""

from __future__ import annotations

LOG_FAULTS: dict[str, str] = {
    "columns-several": "The trial gives a quantity other columns than the logs have sources of it.",
    "cut-otherwise": "Runs were cut, or tries read, by other terms than the protocol has today.",
    "log-changed": "A log is no longer what runs were cut from.",
    "log-columns-unknown": "A table of samples does not say what its columns are.",
    "log-empty": "A log holds nothing.",
    "log-form-unknown": "A log has no form that is read.",
    "log-given": "A log was given where a protocol, a trial or claims are checked.",
    "log-is-run-table": "A table of runs was given where logs are read.",
    "log-missing": "A log that runs were cut from is not there.",
    "log-needs-package": "A log is of a form that a further package reads.",
    "log-not-readable": "A log cannot be opened.",
    "log-packed": "A packed log cannot be unpacked.",
    "log-too-long": "A log is larger than a trial's can be.",
    "log-twice": "Two logs hold the same.",
    "log-undated": "A log has no date, so that it belongs to no session.",
    "no-logs": "The trial names no logs.",
    "no-manoeuvres": "Tries are looked for, and the protocol has no manoeuvres.",
    "paired-by-order": "The two runs of a double run lie over other water.",
    "plan-unfit": "A prepared table has a set point that is not planned.",
    "provenance-foreign": "A file tells of the runs of another trial.",
    "provenance-unreadable": "A file beside the table does not tell where its runs come from.",
    "row-edited": "A row of the table is not what was cut from the logs.",
    "row-not-cut": "A row of the table is no run that was cut from the logs.",
    "row-set-aside-by-hand": "A run was set aside after it was cut.",
    "row-taken-out": "A run that was cut from the logs is not in the table.",
    "run-not-found": "A planned run is not among those cut from the logs.",
    "session-start-missing": "Sessions of one day cannot be told apart in the logs.",
    "source-unknown": "A source is asked for that the logs do not have.",
    "tries-not-found": "The logs hold no try of any manoeuvre.",
}

LOG_REASONS: dict[str, str] = {
    "columns-several": "What each engine has its own column of is read from as many sources: all that the logs have of it, or "
    "those that the trial names under 'cut:', in the order of the columns. With more or fewer, nobody can tell which are "
    "the engines; a sum over one of two would be half of what the boat burns.",
    "cut-otherwise": "Set points, how closely they are held, and the times to settle and to record decide which "
    "stretches are runs, and what shows that she planes which are tries. A table made by others is judged by rules that "
    "it was not made by; cut the runs, or find the tries, anew.",
    "log-changed": "A run can be followed back to the lines of the log that it comes from only while those lines "
    "are the same. Put the log back as the instrument wrote it, or cut the runs anew and look at what changed.",
    "log-columns-unknown": "A table of samples is read by its headings, each with its unit, and needs a time and a speed "
    "or a position. Headings of other words are named in the trial under 'columns:' and 'units:'.",
    "log-empty": "A logger that was started without its instruments writes a file of no bytes, and a copy that "
    "broke off leaves one. Fetch it again, or leave it out.",
    "log-form-unknown": "The form is told by the content and never by the name. What the first lines hold is shown; "
    "the forms that are read are listed beside it.",
    "log-given": "What instruments wrote has no rules to be held against. Name it in a trial under 'logs:' and check "
    "that, or have 'slackwater logs' tell what is in it.",
    "log-is-run-table": "In a log a row is a moment, in a run table it is a run. What is already reduced to runs belongs "
    "under 'runs:' in the trial.",
    "log-missing": "The table says everything that the analysis needs. Without the logs nobody can cut the runs "
    "again, or look at what was left out; keep them with the trial.",
    "log-needs-package": "Some forms are read by a package of their own, which is not installed here. The message "
    "names it.",
    "log-not-readable": "The path is taken from the folder of the trial's file, or from where the command is given. "
    "Check the name, and whether it is a file.",
    "log-packed": "What gzip or zip packed and was cut off while it was copied cannot be unpacked to its end. Copy it "
    "again, or unpack it by other means and give what comes out.",
    "log-too-long": "A day of trials writes some tens of megabytes. A longer file holds days that are none of the "
    "trial's; cut them off, so that no stretch of them is taken for a run.",
    "log-twice": "A log under two names would count every value twice, and the scatter of each mean would look smaller "
    "than it is. Give each log once.",
    "log-undated": "Runs belong to sessions by their day and time. A receiver that sends times without a date leaves "
    "that open; have a sentence or message with the date recorded along with the others.",
    "no-logs": "Runs are cut from logs that are given on the command line, or that the trial names under 'logs:'.",
    "paired-by-order": "A run that was broken off and made again begins somewhere else. Its partner is then the run next to "
    "it, over water that both share only in part; where the current changes from place to place, half of the "
    "difference stays in their mean. Who was aboard can tell whether it does.",
    "no-manoeuvres": "What is looked for in logs is what the protocol declares under 'manoeuvres:'. Runs at set points are cut "
    "without '--tries'.",
    "plan-unfit": "Where no engine speed was recorded the order of the prepared table tells the set points, so each of "
    "them has to be one of the protocol's.",
    "provenance-foreign": "The file that tells where runs come from is found by the name of the table. One of another "
    "trial has come to lie beside it, most likely as a copy, and says nothing of these rows.",
    "provenance-unreadable": "A file RUNS.provenance.json beside a table is taken for what 'slackwater logs' writes "
    "there. This one is cut short, was edited, or comes from elsewhere; the table is read without it.",
    "row-edited": "A figure that was changed after it was cut is no longer what the instruments wrote. It may well be "
    "right, and nobody can see from what it comes; a run that is doubted is set aside with its reason instead.",
    "row-not-cut": "The table is said to be cut from logs, and this row is not. It may have been read off a display; "
    "then its note should say so.",
    "row-set-aside-by-hand": "Who was aboard knows what no log tells. The reason given is shown with the run, and "
    "the verdict is given without it.",
    "row-taken-out": "A run that vanishes leaves no trace in the result, and the choice of which to leave out decides "
    "verdicts. It belongs into the table with the reason in set_aside.",
    "run-not-found": "It was not made, not held, or too short; or the log has a gap there. The reason given is what "
    "was seen in its place. What it means for the trial the rules on missing runs tell.",
    "session-start-missing": "Runs belong to a session by the time it began. Write 'start:' into each session of a "
    "day that has several.",
    "source-unknown": "Sources are named as 'slackwater logs LOG' lists them: talker and kind of the sentence, or group "
    "and address on the bus, letter by letter.",
    "tries-not-found": "A try begins at the speed that is declared for it, turns as far as what is read of it needs, and is recorded "
    "without a break. What came near is told with what it lacks.",
}  # fmt: skip
