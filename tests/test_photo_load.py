"""Every kind of picture file: read to the same pixels as Pillow and OpenCV read them, or refused with one clear message.

Outside sources: Pillow writes the files; `cv2.imread`, which applies EXIF orientation itself, is the other reader;
EXIF 2.3 (tags 0x0112, 0xA405) and the W3C PNG specification.
"""

from __future__ import annotations

import io
import struct
import zlib
from collections.abc import Callable
from pathlib import Path

import cv2
import numpy as np
import pytest
from PIL import Image

from insertgen.errors import PhotoError
from insertgen.photo.load import Photo, load_photo, load_silhouette
from tests.photo_score import facts_of

SIZE = (640, 480)


def ramp() -> np.ndarray:
    x, y = np.meshgrid(np.arange(SIZE[0]), np.arange(SIZE[1]))
    return np.stack([x * 255 // SIZE[0], y * 255 // SIZE[1], (x + y) % 256], axis=2).astype(np.uint8)


def saved(picture: Image.Image, kind: str, **options: object) -> bytes:
    file = io.BytesIO()
    picture.save(file, kind, **options)
    return file.getvalue()


def png_header(width: int, height: int) -> bytes:
    """A PNG that claims a size and holds nothing (W3C PNG specification, 11.2.2)."""
    body = b"IHDR" + struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    head = b"\x89PNG\r\n\x1a\n" + struct.pack(">I", 13) + body + struct.pack(">I", zlib.crc32(body))
    return head + struct.pack(">I", 1000) + b"IDAT" + bytes(1004)


def grey16() -> bytes:
    return saved(Image.fromarray(ramp()[:, :, 0].astype(np.uint16) * 257), "PNG")


READABLE: dict[str, tuple[Callable[[], bytes], np.ndarray]] = {
    "8-bit colour": (lambda: saved(Image.fromarray(ramp()), "PNG"), ramp()),
    "grey": (lambda: saved(Image.fromarray(ramp()[:, :, 0]), "PNG"), np.repeat(ramp()[:, :, :1], 3, axis=2)),
    "16-bit grey": (grey16, np.repeat(ramp()[:, :, :1], 3, axis=2)),
    "opaque RGBA": (lambda: saved(Image.fromarray(ramp()).convert("RGBA"), "PNG"), ramp()),
    "clear RGBA": (
        lambda: saved(Image.merge("RGBA", (*Image.fromarray(ramp()).split(), Image.new("L", SIZE, 0))), "PNG"),
        np.full((*SIZE[::-1], 3), 255, np.uint8),
    ),
    "palette": (
        lambda: saved(Image.fromarray(ramp()).quantize(64), "PNG"),
        np.asarray(Image.fromarray(ramp()).quantize(64).convert("RGB")),
    ),
}


@pytest.mark.parametrize("kind", READABLE)
def test_png_kinds_keep_their_pixels(kind: str) -> None:
    make, expected = READABLE[kind]
    assert np.array_equal(load_photo(make(), "photo.png").rgb, expected)


def test_cmyk_jpeg_is_converted() -> None:
    data = saved(Image.fromarray(ramp()).convert("CMYK"), "JPEG", quality=95)
    assert np.abs(load_photo(data, "photo.jpg").rgb.astype(int) - ramp()).mean() < 6  # JPEG's own loss


def test_16_bit_colour_keeps_the_upper_byte() -> None:
    """Written by OpenCV; 16-bit values of 257 v are the 8-bit v (PNG specification, 12.4)."""
    done, data = cv2.imencode(".png", ramp()[:, :, ::-1].astype(np.uint16) * 257)
    assert done
    assert np.array_equal(load_photo(data.tobytes(), "photo.png").rgb, ramp())


def unlike_any_turn() -> Image.Image:
    """Three corners of three colours on grey, wider than high: no two of the eight orientations look alike."""
    picture = np.full((420, 640, 3), 60, np.uint8)
    picture[:140, :200], picture[:140, -200:], picture[-140:, :200] = (220, 40, 40), (40, 220, 40), (40, 40, 220)
    return Image.fromarray(picture)


@pytest.mark.parametrize("orientation", range(1, 9))
def test_exif_orientation_is_applied_once(orientation: int, tmp_path: Path) -> None:
    exif = Image.Exif()
    exif[0x0112] = orientation
    file = tmp_path / "photo.jpg"
    file.write_bytes(saved(unlike_any_turn(), "JPEG", quality=95, exif=exif))
    ours = load_photo(file.read_bytes(), "photo.jpg").rgb
    theirs = cv2.cvtColor(cv2.imread(str(file)), cv2.COLOR_BGR2RGB)
    assert ours.shape == theirs.shape
    assert np.abs(ours.astype(int) - theirs).max() <= 4  # two JPEG decoders
    stored = np.asarray(unlike_any_turn()).astype(int)
    unturned = ours.shape == stored.shape and np.abs(ours - stored).mean() < 3
    assert unturned == (orientation == 1)


@pytest.mark.parametrize("orientation", [0, 9, 300])
def test_an_impossible_orientation_turns_nothing(orientation: int) -> None:
    exif = Image.Exif()
    exif[0x0112] = orientation
    ours = load_photo(saved(unlike_any_turn(), "JPEG", quality=95, exif=exif), "photo.jpg").rgb
    assert np.abs(ours.astype(int) - np.asarray(unlike_any_turn())).mean() < 3


def test_a_turned_photo_keeps_its_focal_length() -> None:
    exif = Image.Exif()
    exif[0x0112] = 6
    exif.get_ifd(0x8769)[0xA405] = 26
    shot = load_photo(saved(Image.fromarray(ramp()), "JPEG", exif=exif), "photo.jpg")
    assert (shot.width_px, shot.height_px) == SIZE[::-1]
    assert shot.focal_px == pytest.approx(26 * 800 / 1872**0.5)


def test_the_focal_length_is_by_the_diagonal_of_film() -> None:
    """The renderer's own fx, which it made from 26 mm of a 43.27 mm diagonal."""
    folder = Path(__file__).parent / "data" / "photos" / "A1_wrench"
    shot = load_photo((folder / "photo.jpg").read_bytes(), "photo.jpg")
    assert shot.focal_px == pytest.approx(facts_of(folder)["photos"][0]["camera"]["fx"], rel=1e-3)


def test_focal_length_from_exif() -> None:
    exif = Image.Exif()
    exif.get_ifd(0x8769)[0xA405] = 26
    shot = load_photo(saved(Image.fromarray(ramp()), "JPEG", exif=exif), "photo.jpg")
    # 640 x 480 has a diagonal of 800 px, 36 x 24 mm one of sqrt(1872) mm
    assert shot.focal_px == pytest.approx(26 * 800 / 1872**0.5)


@pytest.mark.parametrize("value", [0, 3, 5000])
def test_an_impossible_focal_length_is_none(value: int) -> None:
    exif = Image.Exif()
    exif.get_ifd(0x8769)[0xA405] = value
    assert load_photo(saved(Image.fromarray(ramp()), "JPEG", exif=exif), "photo.jpg").focal_px is None


def test_no_exif() -> None:
    assert load_photo(saved(Image.fromarray(ramp()), "JPEG"), "photo.jpg").focal_px is None


REFUSED: dict[str, tuple[Callable[[], bytes], str]] = {
    "empty": (lambda: b"", "empty"),
    "cut short": (lambda: saved(Image.fromarray(ramp()), "JPEG")[:4000], "cut short"),
    "cut short PNG": (lambda: saved(Image.effect_noise(SIZE, 80), "PNG")[:40000], "cut short"),
    "text": (lambda: b"not a picture at all\n" * 50, "not a JPEG or PNG"),
    "HEIC": (lambda: b"\x00\x00\x00\x18ftypheic" + bytes(500), "HEIC"),
    "WebP": (lambda: saved(Image.fromarray(ramp()), "WEBP"), "WebP"),
    "GIF": (lambda: saved(Image.fromarray(ramp()), "GIF"), "GIF"),
    "TIFF": (lambda: saved(Image.fromarray(ramp()), "TIFF"), "TIFF"),
    "1 x 1": (lambda: saved(Image.new("RGB", (1, 1)), "PNG"), "1 x 1 px"),
    "narrow": (lambda: saved(Image.new("RGB", (2000, 399)), "PNG"), "2000 x 399 px"),
    "100 megapixels": (lambda: png_header(12500, 8000), "64 megapixels"),
    "110 megapixels, whole": (lambda: saved(Image.new("1", (12000, 9200)), "PNG"), "64 megapixels"),
    "end missing": (lambda: saved(Image.effect_noise(SIZE, 80), "JPEG")[:-2000], "cut short"),
    "only the start": (lambda: saved(Image.fromarray(ramp()), "JPEG")[:20], "JPEG or PNG"),
    "a bomb": (lambda: png_header(60000, 60000), "64 megapixels"),
}


@pytest.mark.parametrize("kind", REFUSED)
def test_refused_with_the_file_name_and_one_line(kind: str) -> None:
    make, said = REFUSED[kind]
    with pytest.raises(PhotoError, match=said) as refused:
        load_photo(make(), "IMG_0001.JPG")
    message = str(refused.value)
    assert message.startswith("IMG_0001.JPG: ")
    assert "\n" not in message


def blank_photo() -> Photo:
    return load_photo(saved(Image.fromarray(ramp()), "PNG"), "photo.png")


def test_a_silhouette_is_white_where_the_item_is() -> None:
    drawn = np.zeros(SIZE[::-1], np.uint8)
    drawn[100:200, 300:340] = 255
    mask = load_silhouette(saved(Image.fromarray(drawn), "PNG"), "mask.png", blank_photo())
    assert mask.dtype == np.bool_
    assert np.array_equal(mask, drawn > 0)


MASKS: dict[str, tuple[Callable[[], bytes], str]] = {
    "another size": (lambda: saved(Image.new("L", (1280, 960), 255), "PNG"), "silhouette is 1280 x 960 px, .* 640 x 480 px"),
    "turned": (lambda: saved(Image.new("L", SIZE[::-1], 255), "PNG"), "silhouette is 480 x 640 px, .* 640 x 480 px"),
    "all black": (lambda: saved(Image.new("L", SIZE, 0), "PNG"), "all black"),
    "all white": (lambda: saved(Image.new("L", SIZE, 255), "PNG"), "all white"),
    "a JPEG": (lambda: saved(Image.new("L", SIZE, 255), "JPEG"), "must be a PNG"),
    "empty": (lambda: b"", "empty"),
    "text": (lambda: b"white where the item is\n" * 40, "not a JPEG or PNG"),
}  # fmt: skip


@pytest.mark.parametrize("kind", MASKS)
def test_silhouettes_that_cannot_be(kind: str) -> None:
    make, said = MASKS[kind]
    with pytest.raises(PhotoError, match=said) as refused:
        load_silhouette(make(), "mask.png", blank_photo())
    message = str(refused.value)
    assert message.startswith("mask.png: ")
    assert "\n" not in message
