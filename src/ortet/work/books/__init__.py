"""The books: what growing cost, what was sold, tax apart by its rate, receipts, and a journal that balances.

Ortet adds up and says what it rests on; what of it goes into a tax return, and how, the accountant decides.
"""

from .giving import cancel_receipt, receipt, receipt_of_sales
from .spending import minutes, reverse_expense, spend

__all__ = ["cancel_receipt", "minutes", "receipt", "receipt_of_sales", "reverse_expense", "spend"]
