"""One-time codes: what lets a student in once, to choose a password. No e-mail is needed.

A code is short, since it is typed on a phone from a slip of paper. That is enough because it ends
after a fortnight or its first use, and because no more than :data:`FREE_TRIES` guesses are made
without ``sign_in_guard`` slowing them: 10 000 against 112^5, some 1.8 x 10^10 codes, is a chance
of one in 1.8 million. So many tries are free of waiting because the right code has to work at once,
whoever spent the tries of its name before.
"""

import secrets
from datetime import timedelta

from django.contrib.auth import get_user_model
from django.db import transaction
from django.db.models import F
from django.utils import timezone
from django.utils.crypto import constant_time_compare, salted_hmac

from studio.models import SignInCode
from studio.people import sign_in_guard

# Letters that nobody takes for a figure or for each other when a code is read from paper.
# Letter and figure take turns, and there is no vowel: no code spells a word.
LETTERS, FIGURES = "bdfghkmnprstvz", "23456789"
PAIRS, PAIRS_A_PART = 5, 2
DAYS = 14
VALID = timedelta(days=DAYS)
"""How long a slip may lie in a pencil case (our choice)."""
FREE_TRIES = 10_000
"""Wrong codes for one slip, from all addresses, that nobody is slowed for."""
SALT = "studio.sign_in_codes"


def make_code() -> str:
    """A code that can be read out and typed from paper, such as "b4k7-m2d9-h3"."""
    pairs = [secrets.choice(LETTERS) + secrets.choice(FIGURES) for _ in range(PAIRS)]
    parts = ["".join(pairs[at : at + PAIRS_A_PART]) for at in range(0, PAIRS, PAIRS_A_PART)]
    return "-".join(parts)


def looks_like_code(typed: str) -> bool:
    """Whether what was typed can be a code: letters and figures of ours in turn."""
    signs = plain(typed)
    return len(signs) == 2 * PAIRS and all(
        sign in (FIGURES if place % 2 else LETTERS) for place, sign in enumerate(signs)
    )


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
        sign_in_guard.forget(user.get_username())
        user.set_unusable_password()
    get_user_model().objects.bulk_update(users, ["password"])
    return codes


def find(username: str, typed: str) -> SignInCode | None:
    """The open code of a user that was typed, or None; it stays open until a password stands."""
    found = _open().filter(user__username__iexact=username.strip()).select_related("user").first()
    if found and constant_time_compare(found.hashed, _hashed(found.user_id, typed)):
        return found
    return None


def find_at_once(username: str, typed: str) -> SignInCode | None:
    """As :func:`find`, without waiting; a wrong code is counted against the slip.

    None also where the free tries of the slip are spent: then ``sign_in_guard`` has the word.
    """
    if not looks_like_code(typed):
        return None
    slips = _open().filter(user__username__iexact=username.strip())
    # Counted before it is compared, as every guess is.
    if not slips.filter(wrong_tries__lt=FREE_TRIES).update(wrong_tries=F("wrong_tries") + 1):
        return None
    return find(username, typed)


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
