"""Deeds of trials: design one, strike it, read it, print it; and what ordinary records suggest."""

from .designing import Wanted, design_trial
from .striking import strike_trial

__all__ = ["Wanted", "design_trial", "strike_trial"]
