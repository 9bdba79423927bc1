"""Texts that come from outside (names, labels, messages) where some reader may act on their characters.

In a program a name is letters, digits, blanks and hyphens; on a terminal, characters that steer it are shown escaped;
on a page, a name that runs from right to left does not turn what stands beside it.
"""

import re
import unicodedata

LONGEST_MESSAGE = 300  # characters of a line on a terminal; what is longer quotes something, and is cut in the middle
LONGEST_NAME = 1_000  # characters of a name in a job: it goes into comments, file names and tables
CUT = " … "
STEERS = {"Cc", "Zl", "Zp", "Cs"}  # categories: control (C0, C1), line and paragraph separators, surrogates
BIDIRECTIONAL = set("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")  # UAX #9, table 4
OPEN_ISOLATE, CLOSE_ISOLATE = "\u2068", "\u2069"
_RIGHT_TO_LEFT = ("R", "AL", "AN")


def plain_text(text: str) -> str:
    """A comment in printable ASCII, without characters that some reader of programs acts on.

    Brackets for parentheses, as comments do not nest (NISTIR 6556, section 3.3.5); a comma for the semicolon, which
    begins a comment elsewhere, and blanks for signs that some readers take for a command of their own.

    >>> plain_text("Blätter (gold); 3 % $H")
    'Blatter [gold], 3    H'
    """
    text = _ascii(text).replace("(", "[").replace(")", "]").replace(";", ",")
    return re.sub(r"[^\w\[\]\-.,:/'\"+=#* ]", " ", text)


def plain_name(name: str) -> str:
    """A name from a job in letters, digits, blanks and hyphens, for a program; letters of other scripts are spelt.

    A point stays within a number alone: `0 5 mm` would be another height than `0.5 mm`.

    >>> plain_name("Blätter (gold); $H_2"), plain_name("жук"), plain_name("moth. 0.5 mm")
    ('Blatter gold H 2', 'zhe u ka', 'moth 0.5 mm')
    """
    name = "".join(letter if letter.isascii() else _spelt(letter) for letter in unicodedata.normalize("NFKD", name))
    return " ".join(re.sub(r"(?<!\d)\.|\.(?!\d)|[^A-Za-z0-9 .-]", " ", _ascii(name)).split()) or "unnamed"


def _spelt(letter: str) -> str:
    """`ж` as ` zhe `; nothing for an accent, a blank for what is no letter."""
    if unicodedata.combining(letter):
        return ""
    words = unicodedata.name(letter, "").lower().split() if letter.isalnum() else []
    return f" {words[-1]} " if words else " "


def _ascii(text: str) -> str:
    stripped = unicodedata.normalize("NFKD", text.replace("×", "x").replace("–", "-").replace("²", "2"))
    stripped = stripped.replace("\u2044", "/")  # the slash within a fraction such as ½
    letters = "".join(letter for letter in stripped if not unicodedata.combining(letter))
    return letters.encode("ascii", "replace").decode()


def for_terminal(text: str, most: int = LONGEST_MESSAGE) -> str:
    r"""One line of at most `most` characters, none of which steers a terminal; a longer one is cut in the middle.

    >>> for_terminal("moth\x1b[2J\u202e"), for_terminal("moth" * 9, 15)
    ('moth\\x1b[2J\\u202e', 'mothmo … thmoth')
    """
    if len(text) > 2 * most:  # escaped characters only become more
        text = text[:most] + text[-most:]
    shown = "".join(_escaped(letter) if is_steering(letter) else letter for letter in text)
    if len(shown) <= most:
        return shown
    first = (most - len(CUT) + 1) // 2
    return shown[:first] + CUT + shown[len(shown) - (most - len(CUT) - first) :]


def is_steering(letter: str) -> bool:
    """Whether a character moves, clears or turns what a terminal or editor shows."""
    return letter in BIDIRECTIONAL or unicodedata.category(letter) in STEERS


def _escaped(letter: str) -> str:
    return letter.encode("unicode_escape", "surrogatepass").decode("ascii")


def breaks_lines(text: str) -> bool:
    """Whether a text holds a tab, a line break or another control character, which no name can keep everywhere."""
    return any(unicodedata.category(letter) in STEERS for letter in text)


def readable(text: str) -> str:
    """A file's name as text: bytes that are not UTF-8 become replacement characters."""
    return text.encode("utf-8", "surrogateescape").decode("utf-8", "replace")


def isolated(text: str) -> str:
    """A name for a page: where it may run from right to left, kept from turning what stands beside it (UAX #9, 2.4).

    >>> isolated("moth"), isolated("\\u202emoth") == "\\u2068\\u202emoth\\u2069"
    ('moth', True)
    """
    if not any(letter in BIDIRECTIONAL or unicodedata.bidirectional(letter) in _RIGHT_TO_LEFT for letter in text):
        return text
    kept, depth = [], 0
    for letter in text:
        if letter == CLOSE_ISOLATE and not depth:
            continue  # it would end the isolation early
        depth += (letter in "\u2066\u2067\u2068") - (letter == CLOSE_ISOLATE)
        kept.append(letter)
    return OPEN_ISOLATE + "".join(kept) + CLOSE_ISOLATE * (depth + 1)
