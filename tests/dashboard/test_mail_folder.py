"""Mail without a mail server: a folder of files."""

import email
import email.policy
import stat

import pytest
from django.core.mail import EmailMessage


@pytest.fixture(autouse=True)
def _folder(settings, tmp_path):
    settings.EMAIL_BACKEND, settings.EMAIL_FILE_PATH = "dashboard.mail.FolderBackend", tmp_path / "mail"


def letter(number=1, **more):
    return EmailMessage("Grüße", "An item is open.", "us@marrow.example", ["ana@marrow.example"],
                        headers={"Message-ID": f"<{number}@marrow.example>"}, **more)


def files(settings):
    return sorted(settings.EMAIL_FILE_PATH.iterdir())


def test_each_mail_is_a_file_that_a_mail_program_reads(settings):
    assert letter().send() == 1
    read = email.message_from_bytes(files(settings)[0].read_bytes(), policy=email.policy.default)
    assert (read["Subject"], read["To"]) == ("Grüße", "ana@marrow.example")
    assert read.get_content() == "An item is open."


def test_a_mail_handed_over_twice_is_one_file(settings):
    letter(1).send(), letter(1).send(), letter(2).send()
    assert [file.name for file in files(settings)] == ["1@marrow.example.eml", "2@marrow.example.eml"]


def test_nobody_else_may_look_into_it(settings):
    letter().send()
    assert stat.S_IMODE(settings.EMAIL_FILE_PATH.stat().st_mode) == 0o700
    assert stat.S_IMODE(files(settings)[0].stat().st_mode) == 0o600


def test_a_message_id_cannot_name_a_file_elsewhere(settings):
    letter("../../up").send()
    assert [file.name for file in files(settings)] == ["....up@marrow.example.eml"]
