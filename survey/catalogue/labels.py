"""QR labels for boxes and mounts."""

import io

import segno


def qr_label(accession_number: str, module_mm: float = 0.5) -> str:
    """An SVG of the accession number as a QR code (ISO/IEC 18004), sized in millimetres.

    Error correction is level Q: a quarter of a scuffed label may be gone. The quiet zone of
    four modules belongs to the picture. A tablet's camera reads modules of 0.5 mm at arm's
    length (common practice, no source).
    """
    written = io.BytesIO()
    # Left alone it would write accents in Latin-1, which the tablet's reader takes for UTF-8.
    code = segno.make(accession_number, error="q", micro=False, encoding="utf-8")
    code.save(
        written,
        kind="svg",
        scale=module_mm,
        unit="mm",
        border=4,
        light="#fff",  # A reader needs light paper, whatever the page around is.
        title=accession_number,
        xmldecl=False,
    )
    return written.getvalue().decode()
