"""Pages out of templates: one environment for all, in which every value is escaped.

Templates lie in fleetcare/show/templates. Each gets `words`, the reader's language, and may include
`hand.css`, the look they share.
"""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

from fleetcare.show.words import ENGLISH, Words

if TYPE_CHECKING:
    from jinja2 import Environment


@cache
def environment() -> Environment:
    """The templates' environment; a name that a template does not get is an error."""
    from jinja2 import Environment, PackageLoader, StrictUndefined

    return Environment(
        loader=PackageLoader("fleetcare.show"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )


def page(template: str, words: Words = ENGLISH, /, **values: object) -> str:
    """A page out of its template and its values."""
    return environment().get_template(template).render(words=words, **values)
