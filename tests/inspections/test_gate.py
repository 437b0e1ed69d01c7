"""An opening moves a stage only through its gate, computed from what was read."""

import pytest

from jobs.stages import ORDER, Stage
from tests.site import Site

pytestmark = pytest.mark.django_db


@pytest.fixture
def site() -> Site:
    return Site()


@pytest.mark.parametrize("stage", ORDER[1:], ids=str)
def test_an_opening_reaches_every_stage_on_evidence_that_passes(stage):
    site = Site().bring_to(stage)
    assert site.opening.stage == stage
