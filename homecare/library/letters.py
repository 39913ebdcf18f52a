"""Faults for letters that the printed typeface has not: an empty box on paper would say nothing."""

from __future__ import annotations

import yaml

from homecare.library.nodes import Reader
from homecare.typeface import LETTERS_HINT, strangers


def refuse_unprinted(reader: Reader, node: yaml.Node) -> None:
    """Note a fault at every text below a node that holds a letter which cannot be printed."""
    if isinstance(node, yaml.MappingNode):
        for _, value in node.value:
            refuse_unprinted(reader, value)
    elif isinstance(node, yaml.SequenceNode):
        for value in node.value:
            refuse_unprinted(reader, value)
    elif isinstance(node, yaml.ScalarNode):
        found = strangers(str(node.value))
        if found:
            shown = " ".join(found[:8]) + (" …" if len(found) > 8 else "")
            reader.fault(node, "letters", f"the printed sheet has no letters for {shown}", LETTERS_HINT)
