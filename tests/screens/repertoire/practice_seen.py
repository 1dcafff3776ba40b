"""What tests of practice look at: the two lists, and the screen on top."""


def work(app):
    return app.screen.query_one("#work")


def ways(app):
    return app.screen.query_one("#ways")


def name(app):
    return type(app.screen).__name__
