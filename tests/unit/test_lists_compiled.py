"""Whether compiled code is there is known without loading the compiler."""

from __future__ import annotations

from apps.planning import compiled


def test_nothing_is_ready_until_it_was_warmed_and_only_for_these_sources(tmp_path, monkeypatch):
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path))
    called = []
    kernels = tmp_path / "kernels.py"
    kernels.write_text("one")
    monkeypatch.setattr(compiled, "KERNELS", ("apps.planning.kernels",))
    monkeypatch.setattr(compiled, "HERE", tmp_path)
    monkeypatch.setattr(
        compiled, "import_module", lambda name: type("M", (), {"warm": lambda: called.append(name)})
    )

    assert not compiled.ready()
    assert compiled.warm()
    assert compiled.ready()
    assert not compiled.warm()
    assert called == ["apps.planning.kernels"]

    kernels.write_text("two")

    assert not compiled.ready()


def test_without_a_place_to_keep_it_nothing_is_ever_ready(monkeypatch):
    monkeypatch.delenv("NUMBA_CACHE_DIR")
    assert not compiled.ready()
