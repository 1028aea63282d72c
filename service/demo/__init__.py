"""The demonstration: an invented school with two months of boards, drawn by a program and really measured."""
