"""What tests of the pages share."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext


@pytest.fixture
def count_queries():
    """Return ``count_queries(client, path)``: how many queries a page costs."""

    def count(client, path) -> int:
        with CaptureQueriesContext(
            connection,
        ) as captured:
            assert client.get(path).status_code == 200
        return len(captured)

    return count
