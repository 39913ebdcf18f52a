"""A record written out as YAML: plain content in, the text that reads back as the same content."""

from __future__ import annotations

from collections.abc import Mapping

import yaml

from homecare.library.nodes import NOTHING

WIDE = 140


class _Text(str):
    """A text that may stand without quotes."""


class _Dumper(yaml.SafeDumper):
    """Keeps a record's order, and leaves quotes away wherever a reader of nodes does not need them."""

    def increase_indent(self, flow: bool = False, indentless: bool = False) -> None:
        """Indent the items of a list below its key, as people write them."""
        super().increase_indent(flow, False)


def _represent(dumper: yaml.SafeDumper, text: _Text) -> yaml.ScalarNode:
    value = str(text)
    if value in NOTHING or (" " in value and value.endswith((".", "!", "?"))):
        return dumper.represent_scalar("tag:yaml.org,2002:str", value, style='"')
    # Numbers and yes or no stand plain, since the library is read as text.
    tag = dumper.resolve(yaml.ScalarNode, value, (True, False))  # type: ignore[no-untyped-call]
    return dumper.represent_scalar(tag, value)


_Dumper.add_representer(_Text, _represent)


def record_text(section: str, key: str, content: Mapping[str, object], frame: Mapping[str, str]) -> str:
    """A file that holds one record; `frame` holds what a clinic's folder says of it (`based_on`, `hidden`)."""
    return records_text({section: {key: {**frame, **content}}})


def records_text(sections: Mapping[str, Mapping[str, Mapping[str, object]]]) -> str:
    """A file of several records by section and id."""
    return yaml.dump(
        _texts(sections), Dumper=_Dumper, sort_keys=False, allow_unicode=True, width=WIDE, default_flow_style=None
    )


def _texts(value: object) -> object:
    if isinstance(value, Mapping):
        return {str(key): _texts(part) for key, part in value.items()}
    if isinstance(value, list | tuple):
        return [_texts(part) for part in value]
    return _Text(str(value))
