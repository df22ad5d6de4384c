"""Arrays come back to the last bit; no damaged archive is believed, with a digest or without."""

import numpy as np
import pytest

from geometry.files import DamagedFileError, written_aside
from solve.array_file import arrays_digest, read_arrays


@pytest.fixture
def archive(tmp_path):
    path = tmp_path / "some.npz"
    random = np.random.default_rng(1)
    with written_aside(path) as aside:
        np.savez(aside, first=random.normal(size=(50, 3)), names=np.array(["a", "b"]))
    return path


def test_arrays_come_back_to_the_last_bit(archive):
    read = read_arrays(archive)
    assert list(read) == ["first", "names"]
    assert read["first"].tobytes() == np.random.default_rng(1).normal(size=(50, 3)).tobytes()


@pytest.mark.parametrize("noted", [True, False])
def test_any_flipped_bit_and_any_cut_is_refused_or_harmless(archive, noted):
    # Without our digest the archive's CRC-32 speaks (ZIP application note 4.4.7): it guards what
    # the arrays hold; a flip in a field that nobody reads may pass, with the same numbers.
    if not noted:
        (archive.parent / ".digests" / archive.name).unlink()
    good = read_arrays(archive)
    whole = archive.read_bytes()
    damaged = [whole[:n] for n in range(0, len(whole), 97)]
    for place in range(0, len(whole), 7):
        flipped = bytearray(whole)
        flipped[place] ^= 1 << place % 8
        damaged.append(bytes(flipped))
    refused = 0
    for content in damaged:
        archive.write_bytes(content)
        try:
            read = read_arrays(archive)
        except DamagedFileError as error:
            refused += 1
            assert error.filename == str(archive)
        else:
            assert not noted
            assert {n: a.tolist() for n, a in read.items() if n in good} == {
                n: good[n].tolist() for n in read if n in good
            }
    assert refused > 0.8 * len(damaged)


def test_a_digest_knows_order_shape_and_the_last_bit():
    a, b = np.array([1.0, 2.0]), np.array([3.0])
    same = arrays_digest(a, b)
    assert arrays_digest(a.copy(), b) == same
    assert arrays_digest(np.array([1.0, 9.0, 2.0])[::2], b) == same  # however it lies in memory
    others = [(b, a), (a.reshape(2, 1), b), (np.nextafter(a, 2), b), (a.astype(np.float32), b)]
    assert len({same, *(arrays_digest(*each) for each in others)}) == 5
