"""What plain boxes say when they refuse, in the house's words rather than the framework's."""

from __future__ import annotations

from django.core import validators
from django.forms import fields


def in_our_words() -> None:
    """Put them in place; once, before any form is made."""
    fields.Field.default_error_messages |= {"required": "It is needed. Fill it in."}
    fields.IntegerField.default_error_messages |= {"invalid": "It is not a whole number. Write digits, such as 24."}
    fields.ChoiceField.default_error_messages |= {
        "invalid_choice": "%(value)s is none of the choices. Choose one of them."
    }
    fields.FileField.default_error_messages |= {
        "empty": "The file is empty. Choose another.",
        "missing": "No file was chosen.",
        "invalid": "No file came along. Choose it again.",
    }
    validators.MinValueValidator.message = "It is below %(limit_value)s, which is the least."
    validators.MaxValueValidator.message = "It is over %(limit_value)s, which is the most."
