"""What tests of the form look at: a field, what is said under it, the tune it is about."""


def named(session, title):
    return next(tune.uuid for tune in session.tunes.values() if tune.title.startswith(title))


def field(pilot, name):
    return pilot.app.screen.query_one(f"#{name}")


def said(pilot, name):
    words = field(pilot, name).query_one(".said")
    return str(words.render()) if words.display else ""


async def go_to(pilot, name):
    field(pilot, name).control.focus()
    await pilot.pause()
