"""Measures of ours against a floor, the same work with nothing of ours around it: `bin/bench [NAME...]`, not bin/test.

A file bench_*.py holds measures. Seconds differ from machine to machine and from day to day; the ratio of two medians,
taken by turns in one run, differs less.

    @measure("object_page", goal=2.0)
    def object_page() -> tuple[Work, Work]:
        ...what both need...
        return ours, floor
"""
