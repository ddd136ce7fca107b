"""Signs that JSON can spell and no text has (RFC 8259, section 8.2)."""

import json

import pytest

from studio.ware.sound import is_sound


@pytest.mark.parametrize(
    "text",
    ['"a\\ud800"', '{"\\udfff": 1}', '[["\\u0000"]]', '{"a": {"b": ["c", "\\udc00\\ud800"]}}'],
)
def test_half_a_sign_and_nul_are_found_wherever_they_stand(text):
    assert not is_sound(json.loads(text))


@pytest.mark.parametrize("text", ['"\\ud83c\\udffa"', "[1, null, true, 2.5]", '{"a": "\u00e9\\n"}'])
def test_whole_signs_are_sound(text):
    assert is_sound(json.loads(text))
