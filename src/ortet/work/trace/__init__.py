"""Where wood came from and went: traced from any code, and who must be told."""

from .asking import Ambiguous
from .recall import Recall, recall
from .tracing import Flow, Node, Row, Step, Tally, Trace, trace

__all__ = ["Ambiguous", "Flow", "Node", "Recall", "Row", "Step", "Tally", "Trace", "recall", "trace"]
