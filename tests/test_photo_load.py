"""Every kind of picture file: read to the same pixels as Pillow reads them, or refused with one clear message."""

from __future__ import annotations

import io
import struct
import zlib
from collections.abc import Callable

import numpy as np
import pytest
from PIL import Image

from insertgen.errors import PhotoError
from insertgen.photo.load import load_photo

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
