"""Pages are computed two at a time. Events of one loop, no clock."""

import asyncio

import pytest

from app.web import page_turns
from app.web.page_turns import MAX_AT_ONCE, PageTurns

START = {"type": "http.response.start", "status": 200, "headers": []}


class Pages:
    """An application whose pages begin, and go on when they are let go."""

    def __init__(self):
        self.begun = []
        self.answer, self.end = asyncio.Event(), asyncio.Event()

    async def __call__(self, scope, _receive, send):
        self.begun.append(scope["path"])
        await self.answer.wait()
        await send(START)
        await self.end.wait()


async def ask(turns, path="/", method="GET", kind="http"):
    async def sent(_message):
        pass

    scope = {"type": kind, "method": method, "path": path}
    return asyncio.create_task(turns(scope, None, sent))


async def settled():
    """Everything has gone on as far as it can."""
    for _ in range(20):
        await asyncio.sleep(0)


def run(told):
    """Tell it an application and its turns, in a loop of their own."""

    async def whole():
        pages = Pages()
        await told(pages, PageTurns(pages))
        pages.answer.set()
        pages.end.set()
        await settled()

    asyncio.run(whole())


def test_so_many_are_computed_at_once_and_the_others_wait_for_an_answer_to_begin():
    async def told(pages, turns):
        for number in range(MAX_AT_ONCE + 2):
            await ask(turns, f"/{number}")
        await settled()
        assert pages.begun == [f"/{number}" for number in range(MAX_AT_ONCE)]
        # Begun and not ended: whoever reads slowly keeps nobody waiting.
        pages.answer.set()
        await settled()
        assert len(pages.begun) == MAX_AT_ONCE + 2

    run(told)


@pytest.mark.parametrize(("path", "method"), [("/batteries", "POST"), ("/static/pages.css", "GET")])
def test_what_is_sent_here_and_files_take_no_turn(path, method):
    async def told(pages, turns):
        for _ in range(MAX_AT_ONCE + 2):
            await ask(turns, path, method)
        await settled()
        assert len(pages.begun) == MAX_AT_ONCE + 2

    run(told)


def test_a_slow_page_lets_the_next_begin_beside_it(monkeypatch):
    monkeypatch.setattr(page_turns, "MAX_TURN_S", 0.0)

    async def told(pages, turns):
        for _ in range(3 * MAX_AT_ONCE):
            await ask(turns)
        # Longer than anything here takes: what never comes fails the test instead of stopping it.
        async with asyncio.timeout(60):
            while len(pages.begun) < 3 * MAX_AT_ONCE:
                await asyncio.sleep(0)

    run(told)


def test_a_page_that_fails_gives_its_turn_back():
    async def fails(scope, receive, send):
        raise RuntimeError(scope["path"])

    async def told(pages, turns):
        failing = [await ask(PageTurns(fails)) for _ in range(2 * MAX_AT_ONCE)]
        outcomes = await asyncio.gather(*failing, return_exceptions=True)
        assert all(isinstance(one, RuntimeError) for one in outcomes)
        await ask(turns)
        await settled()
        assert pages.begun == ["/"]

    run(told)
