"""What a test wants to know of a PDF: its text, and whether it keeps PDF/A-2b and PDF/UA-1."""

import io
import re

import page
import pikepdf

FALSE_ALARM = "PDFA2B-STREAM-LENGTH-001"


def text(pdf):
    """Return the text of each page, by the fonts' own tables back to Unicode."""
    with pikepdf.open(io.BytesIO(pdf)) as document:
        return ["".join(_of(p.Resources, p)) for p in document.pages]


def _of(resources, content):
    fonts = {str(k): _unicode(v) for k, v in resources.get("/Font", {}).items()}
    forms = resources.get("/XObject", {})
    font = {}
    for operands, operator in pikepdf.parse_content_stream(content):
        name = str(operator)
        if name == "Tf":
            font = fonts[str(operands[0])]
        elif name in ("Tj", "TJ"):
            parts = operands[0] if name == "TJ" else operands
            for part in parts:
                if isinstance(part, pikepdf.String):
                    raw = bytes(part)
                    yield "".join(font.get(raw[i : i + 2], "?") for i in range(0, len(raw), 2))
        elif name == "ET":
            yield "\n"
        elif name == "Do" and forms[str(operands[0])].get("/Subtype") == "/Form":
            form = forms[str(operands[0])]
            yield from _of(form.get("/Resources", resources), form)


def _unicode(font):
    table = {}
    cmap = font.ToUnicode.read_bytes().decode("ascii")
    for block in re.findall(r"beginbfchar(.*?)endbfchar", cmap, re.S):
        for code, char in re.findall(r"<(\w+)>\s*<(\w+)>", block):
            table[bytes.fromhex(code)] = bytes.fromhex(char).decode("utf-16-be")
    for block in re.findall(r"beginbfrange(.*?)endbfrange", cmap, re.S):
        for low, high, char in re.findall(r"<(\w+)>\s*<(\w+)>\s*<(\w+)>", block):
            start = int.from_bytes(bytes.fromhex(char), "big")
            for i in range(int(high, 16) - int(low, 16) + 1):
                table[(int(low, 16) + i).to_bytes(2, "big")] = chr(start + i)
    return table


def faults(pdf):
    """Return what breaks PDF/A-2b or PDF/UA-1.

    One rule of the validator is mistaken when a stream's last byte is a carriage return: it is left
    out if every length in the file is right.
    """
    found = []
    for profile in ("2b", "ua1"):
        report = page.validate_pdf_bytes(pdf, profile=profile)
        found += [f"{profile} {f.rule_id}: {f.message}" for f in report.failures if f.rule_id != FALSE_ALARM]
        if any(f.rule_id == FALSE_ALARM for f in report.failures):
            found += wrong_lengths(pdf)
    return found


def wrong_lengths(pdf):
    """Return the streams whose /Length is not where their end stands."""
    found = []
    for head in re.finditer(rb"/Length (\d+)[^>]*(?:>>|/[^>]*>>)\s*stream\r?\n", pdf):
        end = head.end() + int(head[1])
        if not pdf[end : end + 11].lstrip(b"\r\n").startswith(b"endstream"):
            found.append(f"stream at {head.start()} has a wrong length")
    return found


def structure(pdf):
    """Return what else a good document has, as facts by name."""
    with pikepdf.open(io.BytesIO(pdf)) as document:
        metadata = document.open_metadata()
        descriptors = [
            o for o in document.objects
            if isinstance(o, pikepdf.Dictionary) and o.get("/Type") == "/FontDescriptor"
        ]  # fmt: skip
        return {
            "syntax": document.check_pdf_syntax(),
            "pdfa": metadata.pdfa_status,
            "ua": metadata["pdfuaid:part"],
            "title": str(document.docinfo["/Title"]),
            "made": str(document.docinfo.get("/CreationDate", "")),
            "tagged": bool(document.Root.MarkInfo.Marked),
            "lang": str(document.Root.Lang),
            "shows_title": bool(document.Root.ViewerPreferences.DisplayDocTitle),
            "fonts": len(descriptors),
            "embedded": sum(1 for d in descriptors if any(k in d for k in ("/FontFile2", "/FontFile3"))),
            "encrypted": document.is_encrypted,
            "pages": len(document.pages),
        }


def alternatives(pdf):
    """Return the alternative texts of the figures."""
    with pikepdf.open(io.BytesIO(pdf)) as document:
        return [
            str(o["/Alt"]) for o in document.objects
            if isinstance(o, pikepdf.Dictionary) and "/Alt" in o and o.get("/S") == "/Figure"
        ]  # fmt: skip
