"""What is measured, and against what: figures that a person reads as a table and a program as a list."""

from cooperative.bench.figures import Figure, table

__all__ = ["Figure", "table"]
