"""File names made from what a person typed: a title or a loop number, turned into a name that every system takes.

The rules are the strictest of the three systems, Windows' own: "Naming Files, Paths, and Namespaces", Microsoft Learn,
in the section on naming conventions. A folder on a USB stick or a network drive then opens on any of them.
"""

import re
import unicodedata

PROJECT_ENDING = ".levelbench.toml"  # what the file type is known by on the desktop
_LONGEST = 80  # bytes; a name may have 255, and a whole path on Windows 260 characters
_REFUSED = re.compile(r'[<>:"/\\|?*\x00-\x1f\x7f]+')
_DEVICES = {"con", "prn", "aux", "nul", "conin$", "conout$"} | {
    f"{one}{n}" for one in ("com", "lpt") for n in "123456789¹²³"
}


def file_name(words: str, otherwise: str = "project") -> str:
    """Give words as the name of a file, or as a part of one, without an ending; `otherwise` where nothing is left.

    What no system may have in a name becomes a hyphen, blanks and dots at the ends go, and the name of a device gets a
    mark behind it, since Windows would open the device: "con" becomes "con_".
    """
    joined = _REFUSED.sub("-", " ".join(unicodedata.normalize("NFC", words).split()))
    named = _shortened(joined.encode("utf-8", "replace").decode("utf-8")).strip(" .-") or otherwise
    return f"{named}_" if named.partition(".")[0].rstrip().casefold() in _DEVICES else named


def project_file(title: str) -> str:
    """Give the name under which a project with this title is saved first."""
    return file_name(title) + PROJECT_ENDING


def loop_files(loop: str) -> str:
    """Give what the name of every file begins with that is handed over for a loop."""
    return f"loop-{file_name(loop, 'unnamed')}"


def with_project_ending(name: str) -> str:
    """Give the name of a project file as it was typed, with the ending where it has none; a plain .toml is left."""
    if name.casefold().endswith(".toml"):
        return name
    return name.rstrip(". ") + (".toml" if name.casefold().rstrip(". ").endswith(".levelbench") else PROJECT_ENDING)


def _shortened(name: str) -> str:
    """Cut a name to the length that is safe, between two characters."""
    return name.encode("utf-8")[:_LONGEST].decode("utf-8", "ignore")
