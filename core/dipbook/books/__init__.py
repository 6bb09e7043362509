"""The books: what the records say, sorted by when it happened, ready to be asked at any time.

Nothing here is a running total. A correction replaces a record and the books are built anew from the records.
"""

from dipbook.books.books import Books, build, learn

__all__ = ["Books", "build", "learn"]
