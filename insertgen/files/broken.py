"""What is wrong with a line that is no TOML, said to somebody who writes sizes."""

from __future__ import annotations

import re

__all__ = ["explain"]

_AMOUNT = r"(?:\d+[ -]\d+\s*/\s*\d+|\d+\s*/\s*\d+|\d*\.?\d+)"
#: An inch mark straight after a number inside quotes of the same kind: "1/4"" or "1-3/8"".
_QUOTED_INCH = re.compile(rf'"\s*(?P<size>{_AMOUNT})\s*""')
#: A number with a fraction or unit but no quotes: 1/4" or 1/4 or 12mm or 3/8 in.
_BARE_SIZE = re.compile(rf"(?P<size>{_AMOUNT})\s*(?P<unit>\"|''|'|mm\b|cm\b|in\b|inch\b|inches\b|ft\b|m\b)?")
_CURLY = "\N{LEFT DOUBLE QUOTATION MARK}\N{RIGHT DOUBLE QUOTATION MARK}\N{DOUBLE LOW-9 QUOTATION MARK}"
_VALUE_STARTS = re.compile(r"[=\[,]\s*")


def explain(text: str, file: str, message: str, first_error: int | None) -> str:
    """One message for a text that tomllib refused.

    Parameters
    ----------
    message : str
        What tomllib said; it ends "(at line N, column M)" or "(at end of document)".
    first_error : int, optional
        Line at which the syntax tree breaks, for the second kind.
    """
    lines = text.split("\n")
    match = re.search(r"\s*\(at (?:line (\d+), column (\d+)|end of document)\)$", message)
    said = message[: match.start()] if match else message
    at_end = _unclosed(lines) or first_error or len(lines)
    number = int(match[1]) if match and match[1] else at_end
    line = lines[min(number, len(lines)) - 1].rstrip("\r")
    return f"{file}, line {number}: {line.strip()[:100]} -- {_reason(line, said)}"


def _unclosed(lines: list[str]) -> int | None:
    """The first line on which a quote is opened and not closed."""
    return next((at for at, line in enumerate(lines, 1) if _open_quote(line)), None)


def _open_quote(line: str) -> str | None:
    open_with = None
    skip = False
    for sign in line:
        if skip:
            skip = False
        elif open_with is None:
            if sign == "#":
                return None
            if sign in "\"'":
                open_with = sign
        elif sign == "\\" and open_with == '"':
            skip = True
        elif sign == open_with:
            open_with = None
    return open_with


def _reason(line: str, said: str) -> str:
    if match := _QUOTED_INCH.search(line):
        return f'an inch mark inside double quotes ends the text; write "{match["size"]} in"'
    if size := _unquoted_size(line):
        return f'a size with a unit or a fraction stands in quotes, with the unit as a word: write "{size}"'
    if any(sign in line for sign in _CURLY):
        return "typographic quotes do not count; use the plain quote on both sides"
    if quote := _open_quote(line):
        return f"a quote is opened and not closed; add the missing {quote}"
    if re.search(r"=\s*(True|False)\b", line):
        return "write true or false in small letters"
    if "Cannot overwrite" in said:
        return "the key stands twice in this table; keep one"
    if "Cannot declare" in said:
        return "the table stands twice; keep one, or write [[...]] for a list of them"
    if re.search(r"=\s*(#.*)?$", line):
        return "there is no value after the ="
    return f"{said[:1].lower()}{said[1:]}"


def _unquoted_size(line: str) -> str | None:
    """A size that stands where a value begins, without its opening quote, as it should be written."""
    for start in _VALUE_STARTS.finditer(line):
        if _open_quote(line[: start.end()]):
            continue
        match = _BARE_SIZE.match(line, start.end())
        if match and (match["unit"] or "/" in match["size"]):
            unit = {'"': "in", "''": "in", "'": "ft", None: "in"}.get(match["unit"], match["unit"])
            return f"{match['size']} {unit}"
    return None
