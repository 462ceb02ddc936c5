"""Every model and every JSON column is classified: carried, or left behind with a reason."""

from __future__ import annotations

from django.apps import apps
from django.db import models

from apps.moving.carried import JSON_COLUMNS, MODELS
from apps.moving.rows import holder, in_backup, in_house
from renovation.models import Record


def every_model():
    return [one for one in apps.get_models(include_auto_created=True) if not one._meta.proxy]


def test_every_model_is_carried_or_left_with_a_reason():
    found = {holder(model)._meta.label for model in every_model()}

    assert found - set(MODELS) == set(), "give it its line in apps/moving/carried.py"


def test_nothing_is_classified_that_is_not_there():
    ours = {label for label in MODELS if not label.startswith(("axes.", "knox."))}

    assert ours - {model._meta.label for model in every_model()} == set()


def test_whatever_belongs_to_a_house_goes_with_it_unless_a_reason_is_given():
    for model in every_model():
        if issubclass(model, Record) and not getattr(model, "person_path", ""):
            fate = MODELS[model._meta.label]
            assert (model in in_house()) == (not fate.house)
            assert not fate.backup


def test_a_reason_is_a_sentence_and_not_a_mark():
    for fate in MODELS.values():
        for why in (fate.backup, fate.house):
            assert not why or len(why.split()) >= 3


def test_every_json_column_of_a_house_says_where_its_ids_are():
    columns = {
        f"{model._meta.label}.{field.attname}"
        for model in in_house()
        for field in model._meta.concrete_fields
        if isinstance(field, models.JSONField)
    }

    assert columns == set(JSON_COLUMNS), "say in apps/moving/carried.py which ids it holds"


def test_rows_of_a_house_have_a_number_that_the_database_gives():
    for model in in_house():
        assert isinstance(model._meta.pk, models.AutoField), model
        assert model._meta.pk.attname == "id"


def test_no_row_of_a_house_notes_the_moment_it_is_written_by_itself():
    # It would note the moment of the move. What the database notes is written with its value.
    for model in in_house():
        for field in model._meta.concrete_fields:
            assert not getattr(field, "auto_now", False)
            assert not getattr(field, "auto_now_add", False)


def test_no_row_hides_from_a_backup():
    for model in in_backup():
        assert not model._default_manager.get_queryset().query.where, model


def test_a_backup_has_everything_of_a_house():
    assert set(in_house()) <= set(in_backup())


def test_what_only_joins_two_models_stays_with_either():
    labels = {model._meta.label for model in in_backup()}

    assert "work.Task_tools" in labels
    assert "auth.User_user_permissions" not in labels
