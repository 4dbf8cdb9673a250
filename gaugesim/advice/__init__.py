"""A diagnosis as a planning problem, and its plan told in the words of the job.

In the order of the data:

- `telling`: how much a check tells;
- `remedy`: what a repair is;
- `look_outcomes`, `suspects`: what checks would show under each hypothesis;
- `hazard`, `danger`: what a believed fault would make burn, what cannot wait;
- `jobs`: the problem, of which `gaugesim.planning` knows the plan;
- `next_step`, `check_advice`: the next step, and what each outcome of a check would mean;
- `ambiguity_groups`, `resistor`, `neighbours`, `proofs`: what is never told apart, the best resistor, what
  else is going too, what must be seen after the repair;
- `answer_entries`, `progress`: an answer as an entry of the case, and how far that has come.
"""
