"""One-time codes: what lets a student in once, to choose a password. No e-mail is needed.

A code is short, since it is typed on a phone from a slip of paper. That is enough because it ends
after a fortnight or its first use, and because ``sign_in_guard`` slows the guessing: 8 tries in a
quarter of an hour are some 11 000 in a fortnight, against 112^5, some 1.8 x 10^10 codes.
"""

import secrets
from datetime import timedelta

from django.contrib.auth import get_user_model
from django.db import transaction
from django.utils import timezone
from django.utils.crypto import constant_time_compare, salted_hmac

from studio.models import SignInCode

# Letters that nobody takes for a figure or for each other when a code is read from paper.
# Letter and figure take turns, and there is no vowel: no code spells a word.
LETTERS, FIGURES = "bdfghkmnprstvz", "23456789"
PAIRS, PAIRS_A_PART = 5, 2
DAYS = 14
VALID = timedelta(days=DAYS)
"""How long a slip may lie in a pencil case (our choice)."""
SALT = "studio.sign_in_codes"


def make_code() -> str:
    """A code that can be read out and typed from paper, such as "b4k7-m2d9-h3"."""
    pairs = [secrets.choice(LETTERS) + secrets.choice(FIGURES) for _ in range(PAIRS)]
    parts = ["".join(pairs[at : at + PAIRS_A_PART]) for at in range(0, PAIRS, PAIRS_A_PART)]
    return "-".join(parts)


def plain(typed: str) -> str:
    """A code as it is compared: small letters and figures, however it was typed."""
    return "".join(sign for sign in typed.lower() if sign.isascii() and sign.isalnum())


def _hashed(user_id: int, code: str) -> str:
    # Keyed with the site's secret: a copy of the database alone does not tell a code.
    return salted_hmac(SALT, f"{user_id}:{plain(code)}", algorithm="sha256").hexdigest()


@transaction.atomic
def give_codes(users, *, by) -> dict[int, str]:
    """Give each user a fresh code by id; an earlier one that nobody used ends, and so does the
    password, if there was one: who has the slip has the login, and nobody else."""
    users = list(users)
    codes = {user.pk: make_code() for user in users}
    until = timezone.now() + VALID
    SignInCode.objects.filter(user__in=codes, used_at=None).delete()
    SignInCode.objects.bulk_create(
        SignInCode(user_id=pk, hashed=_hashed(pk, code), made_by=by, expires_at=until)
        for pk, code in codes.items()
    )
    for user in users:
        user.set_unusable_password()
    get_user_model().objects.bulk_update(users, ["password"])
    return codes


def find(username: str, typed: str) -> SignInCode | None:
    """The open code of a user that was typed, or None; it stays open until a password stands."""
    found = _open().filter(user__username__iexact=username.strip()).select_related("user").first()
    if found and constant_time_compare(found.hashed, _hashed(found.user_id, typed)):
        return found
    return None


def still_open(pk) -> SignInCode | None:
    """An open code by its id, or None where it ended meanwhile."""
    return _open().filter(pk=pk).select_related("user").first()


def _open():
    return SignInCode.objects.filter(
        used_at=None, expires_at__gt=timezone.now(), user__is_active=True
    )


@transaction.atomic
def use(code: SignInCode, save_password) -> bool:
    """Use a code up and save the password with it; False where it was used or ended meanwhile."""
    if not _open().filter(pk=code.pk).update(used_at=timezone.now()):
        return False
    save_password()
    return True
