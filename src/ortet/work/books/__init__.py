"""The books: what growing cost, what was sold, tax apart by its rate, receipts, and a journal that balances.

Ortet adds up and says what it rests on; what of it goes into a tax return, and how, the accountant decides.
"""

from .receipts import cancel_receipt, receipt
from .spending import minutes, reverse_expense, spend

__all__ = ["cancel_receipt", "minutes", "receipt", "reverse_expense", "spend"]
