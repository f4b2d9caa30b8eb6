"""What both sample jobs answer on the safety sheet, and short ways to write readings."""

from typing import Any

NOT_APPLICABLE = "not_applicable"

ANSWERS = {
    "written_plan": "yes", "entry_needed": "no", "opening_test": "yes", "ignition": "yes",
    "traffic": "yes", "cover": "yes", "water_edge": NOT_APPLICABLE, "rising_flow": "yes",
    "hygiene": "yes", "crawler_fits": "yes", "permission": "yes", "local_law": "yes",
}  # fmt: skip


def safety_sheet(device: Any, remarks: dict[str, str], **other: str) -> None:
    """Answer every question of the safety sheet."""
    for question_id, answer in {**ANSWERS, **other}.items():
        fields = {"check_type": "safety_sheet", "question_id": question_id, "answer": answer}
        if question_id in remarks:
            fields["remark"] = remarks[question_id]
        device.add("check", f"safety {question_id}", **fields)


def inclination(typed: str) -> dict[str, Any]:
    """Return an inclination from a short text: ``r 1:90``, ``f 0.8 %``, ``f 0.6°``, ``l``, ``over r``."""
    if typed.startswith("over"):
        return {"sense": "rising" if typed.endswith("r") else "falling", "over_range": True}
    if typed == "l":
        return {"size": 0, "unit": "deg", "sense": "level", "typed": "0"}
    sense, text = typed.split(" ", 1)
    unit = "one_in" if ":" in text else "pct" if "%" in text else "deg"
    size = float(text.split(":")[-1].strip(" %°").replace(",", "."))
    return {"size": size, "unit": unit, "sense": "rising" if sense == "r" else "falling", "typed": text}
