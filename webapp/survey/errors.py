"""The one exception of this package: a stable code, the field, and where in a list."""


class SurveyError(ValueError):
    """Arithmetic refused its input.

    ``code`` is stable; ``field`` names the argument; ``index`` is the place in a list, or None.
    """

    def __init__(self, code: str, field: str = "", index: int | None = None):
        self.code, self.field, self.index = code, field, index
        super().__init__(f"{code} ({field}{'' if index is None else f', {index}'})")
