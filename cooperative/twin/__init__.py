"""The twin: heaps made by equations of another kind, and how forecasts of them would have done.

`lies` and `truth` are what becomes of a heap, hour by hour; `worlds` how one world, cooperative and heap differs from
another; `people` what is tipped and written down; `records` the plain files; `foretelling` what the living heap says
of them, `scoring` how far off it was and `telling` how that reads. Nothing here is used by any page.
"""
