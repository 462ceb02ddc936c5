"""Addresses of Tonight and of what is done on it."""

from __future__ import annotations

from django.urls import path

from apps.pages.screens.tonight import actions, left, tasks, views

urlpatterns = [
    path("", views.tonight_page, name="tonight"),
    path("tasks/<int:task_id>/start/", tasks.start, name="task-start"),
    path("tasks/<int:task_id>/stop/", tasks.stop, name="task-stop"),
    path("tasks/<int:task_id>/done/", tasks.done, name="task-done"),
    path("tasks/<int:task_id>/time/", tasks.add_time, name="task-time"),
    path("tasks/<int:task_id>/back/", tasks.back, name="task-back"),
    path("tasks/<int:task_id>/left/", left.say_left, name="task-left"),
    path("follow/", left.follow, name="follow"),
    path("boards/", actions.move, name="boards-move"),
    path("found/", actions.found_something, name="found"),
    path("found/<int:finding_id>/back/", actions.found_nothing, name="found-back"),
    path("measures/<int:measure_id>/looked/", actions.looked, name="measure-looked"),
    path("measures/<int:measure_id>/back/", actions.not_looked, name="measure-back"),
]
