"""The process that reads meshes: apart from this one, within limits, and never left behind."""

from __future__ import annotations

import os
import select
import signal
import subprocess
import sys
import textwrap
import threading
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np
import pytest
import trimesh

from moldkit.errors import InputError
from moldkit.pattern.intake import server as server_module
from moldkit.pattern.intake.server import MeshServer, server
from moldkit.pattern.mesh import load_mesh
from tests.fuzz.sound import sound_files
from tests.pattern import solids
from tests.pattern.mesh_files import block, exported, refusal, stl, written

posix = pytest.mark.skipif(os.name != "posix", reason="the limits are POSIX ones")
linux = pytest.mark.skipif(not sys.platform.startswith("linux"), reason="waits on a process by its number")


def python(words: str, cwd: Path, **more: str) -> subprocess.CompletedProcess[str]:
    """Run a few lines in a Python of their own, with this moldkit."""
    environment = {**os.environ, "PYTHONPATH": str(solids.ROOT), **more}
    command = [sys.executable, "-c", textwrap.dedent(words)]
    return subprocess.run(command, capture_output=True, text=True, cwd=cwd, env=environment, timeout=60, check=False)


def ended(pid: int, seconds: float = 10.0) -> bool:
    """Wait till a process, not a child of this one, is gone."""
    try:
        handle = os.pidfd_open(pid)
    except ProcessLookupError:
        return True
    with os.fdopen(handle) as watched:
        return bool(select.select([watched], [], [], seconds)[0])


@pytest.fixture
def fresh(monkeypatch: pytest.MonkeyPatch) -> Iterator[MeshServer]:
    """A process of the test's own in place of the session's."""
    own = MeshServer()
    monkeypatch.setattr(server_module, "_server", own)
    yield own
    own.end()


def test_this_process_never_loads_what_reads_meshes(tmp_path: Path) -> None:
    path = stl(tmp_path, block())
    run = python(
        f"""
        import sys
        from moldkit.pattern.mesh import load_mesh
        print(len(load_mesh({str(path)!r}, "mm").faces))
        print(sorted({{"trimesh", "scipy", "igl", "manifold3d", "moldkit.pattern.intake.read_stl"}} & set(sys.modules)))
        """,
        tmp_path,
    )
    assert (run.stdout, run.stderr) == ("12\n[]\n", "")


def test_one_process_reads_many_files_from_many_threads(tmp_path: Path, fresh: MeshServer) -> None:
    path = stl(tmp_path, block())
    load_mesh(path, "mm")
    first = fresh.pid()
    with ThreadPoolExecutor(4) as threads:
        volumes = list(threads.map(lambda _: load_mesh(path, "mm").volume(), range(12)))
    assert volumes == pytest.approx([6e-6] * 12)
    assert fresh.pid() == first


def test_progress_rises_to_one_or_below(tmp_path: Path) -> None:
    shares: list[float] = []
    load_mesh(stl(tmp_path, block()), "mm", progress=shares.append)
    assert shares == sorted(shares)
    assert 0.0 < shares[0] < shares[-1] <= 1.0


@posix
def test_a_process_that_was_killed_is_started_again(tmp_path: Path, fresh: MeshServer) -> None:
    path = stl(tmp_path, block())
    load_mesh(path, "mm")
    first = fresh.pid()
    assert first is not None
    os.kill(first, signal.SIGKILL)
    os.waitid(os.P_PID, first, os.WEXITED | os.WNOWAIT)
    assert load_mesh(path, "mm").volume() == pytest.approx(6e-6)
    assert fresh.pid() not in (None, first)


@posix
def test_a_process_that_hangs_is_ended_and_the_next_file_is_read(
    tmp_path: Path, fresh: MeshServer, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = stl(tmp_path, block())
    load_mesh(path, "mm")
    hung = fresh.pid()
    assert hung is not None
    os.kill(hung, signal.SIGSTOP)
    with monkeypatch.context() as patience:
        patience.setattr(server_module, "most_waiting", lambda name, size: 0.2)
        assert "reading it took more than 0 s" in refusal(path)
    assert fresh.pid() is None
    assert load_mesh(path, "mm").volume() == pytest.approx(6e-6)


@posix
def test_a_process_that_breaks_while_it_reads_is_told_and_started_again(tmp_path: Path, fresh: MeshServer) -> None:
    # Its answer is longer than what a pipe holds, so that it can't be on its way in whole before the shot.
    path = stl(tmp_path, trimesh.creation.icosphere(5, 10.0))

    def shot(share: float) -> None:
        pid = fresh.pid()
        if pid is not None:
            os.kill(pid, signal.SIGSEGV)

    with pytest.raises(InputError, match="its reading broke off"):
        load_mesh(path, "mm", progress=shot)
    assert load_mesh(path, "mm").volume() == pytest.approx(4 / 3 * np.pi * 1e-6, rel=0.01)


def test_whatever_stops_the_reading_ends_the_process(tmp_path: Path, fresh: MeshServer) -> None:
    def stop(share: float) -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        load_mesh(stl(tmp_path, block()), "mm", progress=stop)
    assert fresh.pid() is None
    assert not any(isinstance(thread, threading.Timer) for thread in threading.enumerate())


@linux
def test_the_process_ends_when_this_one_does(tmp_path: Path) -> None:
    path = stl(tmp_path, block())
    run = python(
        f"""
        from moldkit.pattern.mesh import load_mesh
        from moldkit.pattern.intake.server import server
        load_mesh({str(path)!r}, "mm")
        print(server().pid())
        """,
        tmp_path,
    )
    assert run.stderr == ""
    assert ended(int(run.stdout))


@linux
@pytest.mark.parametrize("held", [False, True])
def test_the_process_ends_when_this_one_is_killed(held: bool, tmp_path: Path) -> None:
    # Another child, forked with all that was open, must not keep it alive.
    path = stl(tmp_path, block())
    words = f"""
        import os, sys, time
        from moldkit.pattern.mesh import load_mesh
        from moldkit.pattern.intake.server import server
        load_mesh({str(path)!r}, "mm")
        other = os.fork() if {held} else 0
        if {held} and other == 0:
            time.sleep(60)
        print(server().pid(), other, flush=True)
        os.kill(os.getpid(), 9)
        """
    environment = {**os.environ, "PYTHONPATH": str(solids.ROOT)}
    with subprocess.Popen(
        [sys.executable, "-c", textwrap.dedent(words)], stdout=subprocess.PIPE, text=True, cwd=tmp_path, env=environment
    ) as killed:
        assert killed.stdout is not None
        reader, other = map(int, killed.stdout.readline().split())
        try:
            assert ended(reader)
        finally:
            if other:
                os.kill(other, signal.SIGKILL)


@posix
def test_a_forked_process_reads_with_a_process_of_its_own(tmp_path: Path) -> None:
    path = stl(tmp_path, block())
    load_mesh(path, "mm")
    run = python(
        f"""
        import multiprocessing
        from moldkit.pattern.mesh import load_mesh
        from moldkit.pattern.intake.server import server

        def forked(answers):
            answers.put((load_mesh({str(path)!r}, "mm").volume(), server().pid()))

        load_mesh({str(path)!r}, "mm")
        context = multiprocessing.get_context("fork")
        answers = context.SimpleQueue()
        child = context.Process(target=forked, args=(answers,))
        child.start()
        volume, pid = answers.get()
        child.join()
        print(round(volume * 1e9), pid != server().pid(), round(load_mesh({str(path)!r}, "mm").volume() * 1e9))
        """,
        tmp_path,
    )
    assert (run.stdout, run.stderr) == ("6000 True 6000\n", "")


def test_no_start_up_code_of_the_user_s_runs_in_the_process(tmp_path: Path) -> None:
    path = stl(tmp_path, block())
    # It would leave a line each time a Python starts with the user's settings.
    (tmp_path / "sitecustomize.py").write_text('open("starts.txt", "a").write("started ")')
    run = python(
        f"from moldkit.pattern.mesh import load_mesh; load_mesh({str(path)!r}, 'mm')",
        tmp_path,
        PYTHONPATH=os.pathsep.join([str(tmp_path), str(solids.ROOT)]),
    )
    assert run.stderr == ""
    assert (tmp_path / "starts.txt").read_text() == "started "


def test_a_path_with_spaces_and_letters_of_all_kinds_is_read(tmp_path: Path) -> None:
    folder = tmp_path / "a folder, für Löwen"
    folder.mkdir()
    content = exported(block(), "stl")
    assert load_mesh(written(folder, "ein Löwe 獅.stl", content), "mm").name == "ein Löwe 獅"


@posix
def test_a_name_of_two_lines_is_said_on_one(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"a[?]b.stl: is empty"):
        load_mesh(written(tmp_path, "a\nb.stl", b""), "mm")


@posix
def test_a_pipe_is_not_waited_for(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.stl")
    assert "is no ordinary file" in refusal(tmp_path / "pipe.stl")


@posix
def test_reading_touches_no_other_file_and_no_network(tmp_path: Path) -> None:
    # Every kind of file, its names of others pointing at one that is there; once without the watch, for the imports.
    (tmp_path / "box.mtl").write_text("newmtl wood\n")
    for number, sound in enumerate(sound_files()):
        (tmp_path / f"{number}.{sound.kind}").write_bytes(sound.content)
    run = python(
        """
        import sys
        from pathlib import Path
        from moldkit.errors import InputError
        from moldkit.pattern.intake.child import read_surface
        import scipy.spatial, igl, manifold3d

        files = [(path.name, path.read_bytes()) for path in sorted(Path().iterdir()) if path.suffix != ".mtl"]
        touched, watching = [], False

        def watch(event, arguments):
            if watching and event.split(".")[0] in ("open", "socket", "subprocess", "os", "urllib", "shutil"):
                touched.append((event, str(arguments[:1])))

        sys.addaudithook(watch)
        for watching in (False, True):
            for name, content in files:
                read_surface(content, {"name": name, "unit": "mm", "bodies": "all", "mend": []}, lambda share: None)
        watching = False
        print(len(files), touched)
        """,
        tmp_path,
    )
    assert run.stderr == ""
    assert run.stdout == f"{len(sound_files())} []\n"


@posix
def test_what_a_file_may_use_is_limited(tmp_path: Path) -> None:
    limited = """
        import signal
        from moldkit.pattern.intake import limits
        limits._BYTES_FOR_ANY, limits._SECONDS_FOR_ANY = 1_000_000_000, 0.0
        limits.settle()
        limits.allow("part.stl", 1000)
        """
    memory = python(limited + "\n        bytearray(2_000_000_000)", tmp_path)
    assert "MemoryError" in memory.stderr
    computing = python(limited + "\n        while True: pass", tmp_path)
    assert computing.returncode == -signal.SIGXCPU
    writing = python(
        limited + "\n        import os; os.write(os.open('left.txt', os.O_CREAT | os.O_WRONLY), b'x')", tmp_path
    )
    assert "File too large" in writing.stderr


@posix
def test_what_a_limit_ends_is_said_with_the_limit(
    tmp_path: Path, fresh: MeshServer, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = stl(tmp_path, block())
    begin = "from moldkit.pattern.intake import child, limits; limits._SECONDS_FOR_ANY = 0.0; "
    forever = "exec('def read_surface(*_):\\n while True: pass', child.__dict__); child.serve()"
    endless = "exec('def read_surface(*_):\\n return bytearray(10**13)', child.__dict__); child.serve()"
    start = "import sys; sys.path.extend(sys.argv[1:]); "
    monkeypatch.setattr(server_module, "_BEGIN", start + begin + forever)
    assert "took more than 20 s of computing" in refusal(path)
    monkeypatch.setattr(server_module, "_BEGIN", start + begin + endless)
    assert "took more than 2.0 GB of memory" in refusal(path)
    assert fresh.pid() is None


def test_a_fault_of_the_reader_s_own_is_one_sentence_with_the_fault_behind_it(
    tmp_path: Path, fresh: MeshServer, monkeypatch: pytest.MonkeyPatch
) -> None:
    words = "exec('def read_surface(*_):\\n raise ZeroDivisionError', child.__dict__); child.serve()"
    begin = "import sys; sys.path.extend(sys.argv[1:]); from moldkit.pattern.intake import child; "
    monkeypatch.setattr(server_module, "_BEGIN", begin + words)
    with pytest.raises(InputError, match="cannot be read; export or copy") as caught:
        load_mesh(stl(tmp_path, block()), "mm")
    assert "ZeroDivisionError" in str(caught.value.__cause__)


def test_the_same_file_gives_the_same_mesh_bit_for_bit(tmp_path: Path, fresh: MeshServer) -> None:
    first = load_mesh(solids.MESHES / "bunny_npm.ply", "mm")
    fresh.end()
    again = load_mesh(solids.MESHES / "bunny_npm.ply", "mm")
    np.testing.assert_array_equal(first.vertices, again.vertices)
    np.testing.assert_array_equal(first.faces, again.faces)


def test_the_session_s_process_is_one() -> None:
    assert server() is server()
