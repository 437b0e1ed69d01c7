"""The demo: a made-up company and its work. The same every time from one seed."""

from dataclasses import dataclass

from django.contrib.auth import get_user_model

from jobs.roles import LABELS, Role


@dataclass(frozen=True)
class SignIn:
    """One account of the demo, as shown to whoever started it."""

    role: str
    login: str
    password: str


def make_demo(seed: int) -> list[SignIn]:
    """Fills an empty database; the sign-ins, one for each role."""
    return [_account(role) for role in Role]


def _account(role: Role) -> SignIn:
    sign_in = SignIn(role=LABELS[role], login=role.value, password=f"demo-{role.value}")
    get_user_model().objects.create_user(
        sign_in.login, password=sign_in.password, name=f"{sign_in.role} (demo)", role=role.value
    )
    return sign_in
