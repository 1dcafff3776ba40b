"""What tests of practice look at: the two lists, and the screen on top."""

from tunememory.ui.practice.widgets import WayRows, WorkRows


def work(app):
    return app.screen.query_one(WorkRows)


def ways(app):
    return app.screen.query_one(WayRows)


def name(app):
    return type(app.screen).__name__
