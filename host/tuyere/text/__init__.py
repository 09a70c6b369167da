"""Text with types: a sentence is a template and the values in it; it becomes words only for its reader.

    text("Holding {pit}, in the band", pit=Temperature(128.2))

`render(said, Reader("F"))` of it gives "Holding 263 F, in the band". Words without any measure are a plain `str`;
`Said` is either. `quantities.py` has the measures and their readers, `templates.py` the templates.

Why not a library: Babel and Fluent format numbers and choose plurals for a language, but neither converts a measure to
the reader's units. Their other parts (catalogues, plural rules, locale data) serve languages that Tuyere does not speak
yet. A translation would start here: the templates are its keys.
"""

from tuyere.text.quantities import (
    CELSIUS,
    CM_PER_IN,
    FAHRENHEIT,
    KG_PER_LB,
    Clock,
    Count,
    Duration,
    Length,
    Mass,
    Measure,
    Number,
    Range,
    Rate,
    Reader,
    Share,
    Span,
    Temperature,
    Volume,
    band,
    span,
)
from tuyere.text.templates import (
    BadValue,
    Key,
    Listed,
    Said,
    Text,
    Unconverted,
    Value,
    as_said,
    gist,
    plain,
    render,
    rendered,
    said_of,
    sentences,
    text,
    worded,
)

__all__ = [
    "CELSIUS", "CM_PER_IN", "FAHRENHEIT", "KG_PER_LB", "BadValue", "Clock", "Count", "Duration", "Key", "Length",
    "Listed", "Mass", "Measure", "Number", "Range", "Rate", "Reader", "Said", "Share", "Span", "Temperature", "Text",
    "Unconverted", "Value", "Volume", "as_said", "band", "gist", "plain", "render", "rendered", "said_of", "sentences",
    "span", "text", "worded",
]  # fmt: skip
