"""From the conditions of the zones to what repair costs: operations, shared set-ups, paint, replacement, overrun."""

from __future__ import annotations

from weldworth.bill.book import Book, load_book
from weldworth.bill.price import BillDraws, price, price_at_likely
from weldworth.bill.summary import Bill, Driver, Line, Offer, summary
from weldworth.bill.terms import TERM_KEYS, RepairTerms, default_terms, terms_from

__all__ = [
    "TERM_KEYS",
    "Bill",
    "BillDraws",
    "Book",
    "Driver",
    "Line",
    "Offer",
    "RepairTerms",
    "default_terms",
    "load_book",
    "price",
    "price_at_likely",
    "summary",
    "terms_from",
]
