"""Why what readers tell matters, and what to do about it: a paragraph for each id, for `explain`.

The finding itself names the place and the nearest mend; this says what stands behind it.
"""

from __future__ import annotations

from slackwater.analysis.checking.log_faults import LOG_REASONS
from slackwater.analysis.checking.manoeuvre_faults import MANOEUVRE_REASONS

REASONS: dict[str, str] = {
    **LOG_REASONS,
    **MANOEUVRE_REASONS,
    # --- the table of runs: the file -------------------------------------------------------------
    "file-kind": "The ending and the first bytes of a file have to say the same. A workbook named .csv, or a "
    "table saved as .ods, is read by nobody with certainty; save it again as CSV, XLSX or Parquet.",
    "file-unreadable": "The path is taken from the folder of the trial's file. Check the name under 'runs:', "
    "and whether another program holds the file.",
    "empty-file": "A file of no bytes is often what is left of a download or a copy that broke off. Fetch or "
    "export it again.",
    "encoding": "Files from older programs are often Windows-1252, where a degree sign is another byte than in "
    "UTF-8. It was read so; look at names and units with signs in them, or save the table as UTF-8.",
    "nul-bytes": "A NUL byte in a text means that the file was cut off while it was written, or is no text. What "
    "stands around it cannot be trusted, so nothing of it is read.",
    "quotes": "After a quotation mark that is never closed all that follows is one cell, and rows vanish without "
    "a sound. Close it, or take it away.",
    "table-too-large": "A run table has one row a run. A file of this size is most likely the log of an "
    "instrument; reduce it to one row a run first.",
    "workbook-locked": "A workbook under a password is encrypted, and cannot be opened here. Save a copy without.",
    "workbook-sheets": "Only one sheet can be the table of runs. Which one is not guessed: leave one sheet with a "
    "column 'session', or save that sheet as a file of its own.",
    "workbook-unreadable": "The workbook is damaged, or of a kind before XLSX. Open it in a spreadsheet program "
    "and save it as .xlsx, or as CSV.",
    "parquet-unavailable": "Parquet files are read by pyarrow, which is not installed here. Install it, or save "
    "the table as CSV.",
    "parquet-unreadable": "The file begins as Parquet does and cannot be read to its end. Write it again.",
    "parquet-nested": "A cell holds one value. Lists and records in a cell have no place in a row that is a run; "
    "write one row a run, one value a cell.",
    "merged-cells": "A merged cell has its value in its first row alone; the rows beneath are empty, whatever the "
    "screen shows. Take the merging away and write the value into every row.",
    "cell-formula": "A workbook keeps for each formula the value that was last computed, and this file was "
    "written by a program that computes none. Open and save it once in a spreadsheet program.",
    # --- the table of ratings --------------------------------------------------------------------
    "no-ratings": "Below the headings stands one row for each session, item and rater.",
    "no-ratings-yet": "Before the trial there is no table of ratings, and only what is declared was looked at. "
    "After it, check the name under 'ratings:'.",
    "item-unknown": "An item is known by its name in the protocol, or by its title. A score whose item cannot be "
    "told belongs to none; it is not guessed at.",
    "rater-missing": "Each rater's own level is taken out of the scores, so every score has to have its rater. "
    "A number does as well as a name, as long as it stands for one person all through.",
    "rating-repeated": "A rater counts once for an item and session; twice the same head is no second opinion. "
    "Keep the first score and set the other aside, with the reason.",
    "score-missing": "A row without a score says nothing, and whether it was forgotten or refused is worth "
    "knowing: write why under set_aside, or delete the row.",
    "score-off-scale": "A score that the scale does not have was written down wrongly, or belongs to another item. "
    "Correct it from the sheet. One between two points has no anchor on either side that was meant for it.",
    "guess-unknown": "A guess is one of the trial's configurations, by name or title, or 'unsure'. Blinding is "
    "tested by counting them, so one that cannot be placed stops the table.",
    "guess-conflict": "A rater guesses once, at the end of a session. Write the guess in one of its rows, or the "
    "same one in all.",
    "ratings-alone": "Scores can be judged without runs. But runs tell at which speed it was felt, and whether that "
    "was the same for both; and a table of runs that was meant and not found would be missed otherwise.",
    "ratings-without-runs": "The runs of a session say at which speed it was felt. Its scores count as those of every "
    "session; whether she was driven alike, nothing then tells.",
    # --- the table: headings and units -----------------------------------------------------------
    "heading-missing": "The first row that names a session is taken for the headings; none does. A table without "
    "its headings cannot be read by position, since nobody would notice two columns that changed places. "
    "Name the columns in the first row, or map your own words in the trial under 'columns:'.",
    "heading-unknown": "Your own words for a column are as good as any, but they are not guessed at: one line in "
    "the trial says what each is, such as columns: {speed_over_ground: \"GPS speed\"}. 'slackwater new trial "
    "--runs FILE' proposes that line from the headings it finds.",
    "column-missing": "Without this column the runs cannot be told apart or placed in the sweep: the session says "
    "which runs belong together, the set point where in the sweep a run lies. Add the column; or, where it is "
    "there under another heading, say so in the trial under 'columns:'.",
    "measure-missing": "The protocol declares this measure, and no column holds it. Everything that needs it is "
    "left out of the answer. Add the column, map it under 'columns:', or take it out of the protocol's measures.",
    "column-ignored": "Nothing is lost by it as long as the column is not needed. Look whether it holds something "
    "that the protocol measures under another name; then map it in the trial under 'columns:'.",
    "column-repeated": "Which of two columns counts cannot be told, and a mean of both may be a mean of raw and "
    "corrected values. Rename or delete one. Columns of several engines are named together: "
    "columns: {fuel_flow: [\"Port [L/h]\", \"Stbd [L/h]\"]}.",
    "unit-missing": "A speed in km/h read as knots is wrong by half and looks sound. Write the unit in brackets "
    "into the heading, or into the trial under 'units:'.",
    "unit-unfit": "A column is read in the unit that it declares and brought to the protocol's; that needs a unit "
    "of the same kind. A flow in kg/h, for one, is another measure than a flow in L/h.",
    "unit-conflict": "The heading gives one unit and the trial another, and one of them is wrong. Correct the one "
    "that is.",
    "units-row": "Units in a row of their own look like a run without values. Put each into its heading, in "
    "brackets.",
    "second-heading": "Headings in the middle mean that two tables were joined, perhaps with columns in another "
    "order. Look at that, then delete the row.",
    "rows-before-heading": "Rows above the headings (a title, a date, a boat's name) were passed over. See that no "
    "run is among them.",
    "ragged-row": "A row with a cell too many or too few has its values under the wrong headings from there on. "
    "Often a decimal comma in a file that separates by commas, or a comma in a note without quotes.",
    "cell-without-heading": "What stands in a column without a heading has no meaning. Give it one, or clear it.",
    # --- the table: rows ---------------------------------------------------------------------------
    "blank-rows": "Blank rows part groups on the screen and mean nothing here; they were passed over.",
    "summary-row": "A mean or a total under the runs would be counted as one run more, and the best-looking one at "
    "that. Delete it; nothing that is computed from other rows belongs in a run table.",
    "run-not-made": "The row was prepared by a sheet and nothing was filled in. If the run was made, write it down; "
    "if it was made and cannot be used, give the reason in set_aside.",
    "sheet-blank": "All rows say which runs to make, and none that one was made. Fill the sheet in, or name the "
    "table that is.",
    "run-empty": "A run without a value tells nothing and still counts as made. Fill it in, set it aside with its "
    "reason, or delete it.",
    "no-runs": "There has to be at least one run that is not set aside. Below the headings stands one row a run.",
    "one-run": "With a single run there is nothing to compare. Add the others.",
    "row-copied": "Two rows with one start and the same values are one run, most likely copied. It would count "
    "twice and make the scatter look smaller than it is. Delete one; correct it if it was meant to be another.",
    "session-missing": "Runs are compared by sessions, so each has to belong to one. Write the session in every "
    "row; a spreadsheet shows a merged or blank cell where the eye fills it in.",
    "session-unknown": "The trial lists its sessions with what was fitted in each; a run of a session that is not "
    "among them cannot be given to a configuration.",
    "session-without-runs": "The trial lists this session, and no run of it is in use. Either its rows are missing "
    "or their session is misspelt; a session that was not run does not belong in the trial.",
    "no-sessions": "Only the trial's file says what was fitted when. List each session under 'sessions:' with its "
    "id and configuration; 'slackwater new trial --runs FILE' makes that list from the table.",
    "no-runs-yet": "The table that the trial names is not there, or is blank. That is as it should be before the "
    "trial; after it, look at the name under 'runs:'.",
    "configuration-conflict": "Table and trial differ about what was fitted. Whichever is wrong, it would move a "
    "whole session to the other side of the comparison.",
    "label-date": "A spreadsheet takes '3-2' for a date and keeps a number. Format the column as text and type "
    "the label again.",
    # --- the table: double runs and directions -----------------------------------------------------
    "direction-missing": "Speed over ground holds the current, which a run the other way takes out. A run whose "
    "direction is unknown cannot be paired, so its current would stay in the result.",
    "direction-unknown": "Any words will do, if the trial says what they are: directions: {N: out, S: back}. Which "
    "of the two is out does not matter, as long as it is the same throughout.",
    "direction-from-heading": "The table has headings and no directions; runs that point the same way as the first "
    "were taken for out. A column of directions would say it outright.",
    "heading-range": "A compass heading lies between 0 and 360 degrees. Another figure is most likely of another "
    "column.",
    "headings-not-reciprocal": "Two runs that are not opposite do not take the same current out, and what is left "
    "is in the result. Correct the headings, or set the runs aside.",
    "double-run-number": "Double runs are counted 1, 2, 3 within session and set point, so that out and back of one "
    "are known to belong together. Leave the whole column out to have them paired by time.",
    "double-run-paired": "The table does not say which runs belong together; out and back were paired by their "
    "starts, each with the nearest. See that this is how they were run.",
    "run-twice": "A double run is one run out and one back. Two in one direction leave the current in; number them "
    "apart, or correct a direction.",
    "run-without-partner": "A run alone still tells of the current where tide_fit follows it, and of nothing where "
    "double runs are taken each by itself. Add the partner, or set the run aside with its reason.",
    # --- the table: times ---------------------------------------------------------------------------
    "start-missing": "The current and any drift are followed by the clock. Without starts the rows are taken to "
    "stand in the order of the runs, and a drift through the day cannot be told from the change.",
    "start-format": "Starts are read as 2026-05-04T09:12:00. Other forms are read where the trial names them: "
    "'dates: day first', 'dates: month first', or 'dates: of the session' for times of day.",
    "start-day-month": "04/05 is the fourth of May to some and the fifth of April to others, and half of a table "
    "can be read both ways without a fault. Say in the trial which: 'dates: day first' or 'month first'.",
    "start-without-date": "A time of day needs its day: either in the cell, or from the session, where the trial "
    "says 'dates: of the session' and every session has its date.",
    "start-without-time": "Within a day the order and the tide are followed by the clock. Write the time too; where "
    "it stands in another column, name both: columns: {start: [\"Date\", \"Time\"]}.",
    "start-serial": "A spreadsheet keeps dates as numbers of days, counted from one of two origins. Format the "
    "column as date and time before exporting.",
    "start-clock-unset": "1970 and 1980 are where clocks begin that were never set. The order of the runs may still "
    "be right, their time is not.",
    "start-zone": "Starts in several zones were all brought to UTC, so that one clock runs through the trial.",
    "start-zone-mixed": "Half the starts with a zone and half without may lie hours apart, which moves them in the "
    "tide. Write the zone with all of them or with none.",
    "start-other-day": "The session's date and the start of its run differ by days. One of them is wrong, or the run "
    "belongs to another session.",
    "clock-backwards": "Rows usually stand in the order of the runs. One that starts before the row above it was "
    "sorted, belongs to another session, or has its clock wrong.",
    "runs-overlap": "A boat makes one run at a time. Starts, durations or sessions are wrong.",
    "duration-short": "A spreadsheet shows 60 s as a time and keeps 0.000694 of a day. Write the duration in the "
    "unit of its heading.",
    # --- the table: values ---------------------------------------------------------------------------
    "cell-not-number": "A cell under numbers holds a text. A blank or a stroke is read as no value; anything else "
    "is not guessed at.",
    "cell-not-finite": "Infinity and not-a-number come out of a division by zero or a failed reading. They are no "
    "values; leave the cell blank.",
    "cell-not-positive": "Under way a speed, a flow or an engine speed is above zero. A nought is most often an "
    "instrument that gave nothing, and would pull a mean down unseen.",
    "cell-broken-formula": "The spreadsheet itself says that this cell came to nothing. Mend the formula and export "
    "again.",
    "cell-clock": "A time or a date under numbers is what a spreadsheet makes of 5:12 or of 3-4. Format the column "
    "as a number and type it again.",
    "cell-other-unit": "The heading gives the unit for all rows. A cell with another would be off by the ratio of "
    "the two; convert it, and write the number alone.",
    "cell-decimal-mark": "Where one number has a comma and others a point, one of them may be a mark between "
    "thousands. Write all with the same decimal mark.",
    "cell-thousands": "12,345 is twelve thousand to some and twelve to others. Write numbers without a mark between "
    "thousands.",
    "decimal-comma": "Numbers with decimal commas are read where something else separates the cells. In a file that "
    "separates by commas nobody can tell where a number ends: export it with semicolons.",
    "value-missing": "Runs without a value are left out of what needs it, and the others stand for them. Where that "
    "happens in one configuration alone, it can move the result; fill them in from the log if you can.",
    "value-wild": "A value several times that of its neighbours is a slip of the hand or of an instrument. Correct "
    "it, or set the run aside with its reason; leaving it out without one is choosing.",
    "cell-impossible": "The value lies beyond what any craft or instrument comes to, so it is a slip of the hand, "
    "a wrong unit or a wrong column. The bounds are listed in docs/limits.md.",
    "speed-rounded": "Where all speeds are whole or half knots, their scatter is that of the rounding, and the noise "
    "is told wrongly small or large. Take more digits from the log.",
    "engine-missing": "The sum or mean of what is left is not that of all engines. Write 0 for an engine that stood "
    "still, fill the reading in, or clear all of them.",
    "set-aside-reason": "A run that is left out stays on record with its reason, so that others can see that it was "
    "not left out for its result. 'x' or 'yes' is no reason.",
    "row-invented": "Rehearsals mark every row that they make up, so that none is ever taken for measured. Delete such "
    "rows, or say in the trial that it is invented.",
    "set-aside-unread": "The run is set aside, so the cell that could not be read does no harm.",
    "set-point-missing": "Without its set point a run has no place in the sweep. Write what was aimed at, not what "
    "was reached.",
    # --- published tables -------------------------------------------------------------------------
    "empty-table": "Below the headings there has to be at least one row to audit.",
    "no-figures": "No column is of a quantity that can be audited: speed, fuel flow, economy, range and so on, with "
    "its unit in the heading.",
    "not-as-printed": "What a figure was rounded to says how exact it claims to be, and a workbook shows 5.60 as "
    "5.6. Type the table as text, just as it was printed.",
    "unknown-column": "The column cannot be given to a quantity and a configuration. Name it as the others are, or "
    "leave it out.",
    "unknown-quantity": "Several quantities have this unit. Say in the heading which one it is.",
    "unknown-unit": "The unit in the heading is not known; docs/formats.md lists those that are.",
    # --- notes on a result ------------------------------------------------------------------------
    "current-across-track": "Averaging out and back takes out the current along the course. What sets across turns "
    "the boat's head and stays in the speed; choose a course along the stream.",
    "current-method": "The analysis could not take the current out as the protocol declares, and says which way it "
    "took instead. The runs lack what the declared method needs.",
    "declared-look": "A look part-way that was declared keeps the error rate, at the price of a stricter bound now.",
    "undeclared-look": "A trial that may stop whenever a difference shows finds differences that are not there. "
    "Run it to its declared end, or declare looks before the next one.",
    "log-reads-low": "The log of speed through the water and the double runs disagree. Calibrate the log, or leave it "
    "out of the protocol.",
    "invented-data": "The trial says so itself, and every report repeats it. What comes out of it is practice, never "
    "a result.",
    "arithmetic": "A division by nought or a number beyond all bounds came up on the way to a figure. The "
    "values behind it are mistyped or in a wrong unit, as most often a nought or some zeros too many.",
    "reply-differs": "An author has answered what the claims left open. Where the answer and the claims differ, "
    "the author's own word counts, and the audit says which of the two it took.",
    "reply-to-others": "A reply names the digest of the claims that it answers. This one answers another state of "
    "the file, so nothing of it is taken over; send the letter again.",
    "run-table": "A run table is read with the trial that names it: without it nobody knows what was fitted, which "
    "sessions there were, and what the columns mean. 'slackwater new trial --runs FILE' makes one from it.",
    "seal-changed": "A seal is the digest of the file's bytes. They differ, so nothing shows any more what was "
    "declared before the trial: bring the sealed file back, or say what was changed and why.",
    "seal-late": "A seal counts from the time at which it is shown to have been made. One made after the first run "
    "does not show that anything was declared before.",
    "seal-missing": "The seal names a file that is not there, so it cannot be held against it.",
    "seal-unreadable": "The seal is damaged or was changed by hand. It is made anew by 'slackwater seal', and counts "
    "from then.",
    "worthwhile-not-told": "The protocol says that this difference would matter, and nothing in the trial tells it. "
    "The finding says what is missing.",
    "unknown-document": "What a file is shows by its first keys: 'protocol:', 'trial:' or 'claims:'.",
    # --- protocols, trials and claims as files ---------------------------------------------------
    "missing-file": "Paths in a file start from the folder of that file, not from where the command is given.",
    "unreadable-file": "The file is there and cannot be opened: a folder, a device, or one without permission.",
    "too-large": "Protocols and trials are read by people and have a limit in size. Runs belong into their table.",
    "not-utf-8": "Signs such as ° or ± are other bytes in other encodings. Save the file as UTF-8.",
    "not-a-mapping": "These files are keys with values, from the top. A file that begins with '-' is a list.",
    "several-documents": "Only one document a file is read; what follows '---' would be lost without a word.",
    "yaml-syntax": "Most often a bracket or a quotation mark left open, or a colon without a space after it. What "
    "comes after it was not read, so more may be found once it is mended.",
    "yaml-tab": "YAML indents by spaces. Let the editor turn tabs into spaces.",
    "yaml-depth": "No file here needs so many levels; most likely a bracket is open.",
    "yaml-alias": "Aliases save typing and hide what a file says; they are allowed within bounds.",
    "yaml-merge": "A merge key takes values from elsewhere without showing them. Write them out.",
    "yaml-tag": "A tag asks the reader to build something other than text. Each key here knows its own kind.",
    "yaml-key": "A key is a word with a colon and a space; lists and groups cannot be keys.",
    "duplicate-key": "YAML itself would keep the last of the two without a word. Take one away.",
    "wrong-kind": "The command asks for another kind of file than this. 'check' takes all of them.",
    "unknown-key": "A key that nobody reads would be a declaration without effect, such as 'settel: 20 s'. Correct "
    "it; what has no key of its own goes into 'note:'.",
    "missing-key": "There is no value that could be taken for granted here. Write one.",
    "unfit-value": "The value has another kind than this key needs: no unit or one of another kind, a date in "
    "another form, a number beyond what is possible. The finding says what fits.",
    "unknown-protocol": "A trial names its protocol by the id of one that is shipped ('slackwater new protocol "
    "--list') or by the path of a file.",
    "unknown-configuration": "Sessions and comparisons name configurations as they are declared under "
    "'configurations:', letter by letter.",
    "duplicate-session": "Runs are given to sessions by their id, so no two may share one.",
    "more": "The rest is left out until these are mended, since one slip often brings others with it.",
}  # fmt: skip
