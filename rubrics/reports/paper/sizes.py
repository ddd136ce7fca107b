"""The sheets a report is printed on."""

from reportlab.lib.pagesizes import A4, LETTER

PAGE_SIZES = {"letter": LETTER, "a4": A4}


def page_size(name: str) -> tuple[float, float]:
    """Width and height of a sheet [pt].

    Raises
    ------
    ValueError
        A name that is not among `PAGE_SIZES`.
    """
    if name not in PAGE_SIZES:
        raise ValueError(f"“{name}” is not a page size here; take {' or '.join(PAGE_SIZES)}.")
    return PAGE_SIZES[name]
