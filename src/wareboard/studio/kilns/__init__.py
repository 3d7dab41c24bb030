"""The pages of the kilns: what each has done and what to change next, firings, schedules, loads moved by hand."""
