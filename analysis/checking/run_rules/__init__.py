"""The rules that take the runs, or statistics, one a file; `_all.RULES` names them."""
