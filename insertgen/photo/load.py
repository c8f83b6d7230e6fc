"""What is in the picture file: pixels the right way up, and what the camera says of its lens."""

from __future__ import annotations

import hashlib
import io
import math
import warnings
from dataclasses import dataclass, field
from typing import Protocol

import numpy as np
from numpy.typing import NDArray
from PIL import ExifTags, Image, ImageOps, UnidentifiedImageError

from insertgen.errors import PhotoError

__all__ = ["FILM_DIAGONAL", "Bool", "Photo", "load_photo", "load_silhouette"]

Bool = NDArray[np.bool_]

#: Diagonal of a 36 x 24 mm film frame (ISO 1007): 43.267 mm.
FILM_DIAGONAL = math.hypot(36.0, 24.0)
SMALLEST_SIDE = 400
LARGEST_PIXELS = 64_000_000
#: A 35 mm equivalent outside this is a slip of the writing program, not a lens.
FOCAL_RANGE = (8.0, 400.0)

_JPEG_PNG = "take or export it as JPEG or PNG"
_HEIF = (b"heic", b"heix", b"hevc", b"heim", b"heis", b"mif1", b"msf1")  # brands (ISO 23008-12) of HEIC photos
_MAGIC = (
    (b"GIF8", "a GIF"), (b"BM", "a BMP"), (b"II*\x00", "a TIFF or raw photo"), (b"MM\x00*", "a TIFF or raw photo"),
    (b"%PDF", "a PDF"), (b"<svg", "an SVG drawing"), (b"<?xml", "an XML file"),
)  # fmt: skip


class _Sized(Protocol):
    @property
    def size(self) -> tuple[int, int]: ...


@dataclass(frozen=True, slots=True, eq=False)
class Photo:
    """One photo, upright.

    Attributes
    ----------
    name : str
        File name, for messages.
    sha256 : str
        Of the file's bytes.
    rgb : uint8 array, H x W x 3
        EXIF orientation applied once; read-only.
    focal_35mm : float or None
        EXIF FocalLengthIn35mmFilm.
    """

    name: str
    sha256: str
    rgb: NDArray[np.uint8] = field(repr=False)
    focal_35mm: float | None

    @property
    def height_px(self) -> int:
        return int(self.rgb.shape[0])

    @property
    def width_px(self) -> int:
        return int(self.rgb.shape[1])

    @property
    def focal_px(self) -> float | None:
        """Focal length in pixels, None without EXIF.

        The 35 mm equivalent compares angles of view by the diagonal (CIPA
        DCG-001, to which EXIF 2.3 refers for 4:3 sensors), hence
        ``f35 * diagonal in px / 43.267``; comparing long sides would be 4 %
        off on a 4:3 sensor.
        """
        if self.focal_35mm is None:
            return None
        return self.focal_35mm * math.hypot(self.width_px, self.height_px) / FILM_DIAGONAL


def load_photo(data: bytes, name: str) -> Photo:
    """The photo in the bytes of a JPEG, PNG or (with the optional extra) HEIC file.

    Raises
    ------
    PhotoError
        Empty, truncated, no image, another format, too small or too large.
    """
    picture = _open_heic(data, name) if data[4:8] == b"ftyp" and data[8:12] in _HEIF else _open(data, name)
    _check_size(picture, name)
    focal = _focal_35mm(picture)
    upright = _upright(picture, name)
    rgb = _to_rgb(upright)
    rgb.setflags(write=False)
    return Photo(name, hashlib.sha256(data).hexdigest(), rgb, focal)


def load_silhouette(data: bytes, name: str, photo: Photo) -> Bool:
    """A mask made by hand: white where the item is, of the photo's size.

    Returns
    -------
    bool array, H x W
    """
    picture = _open(data, name)
    if picture.format != "PNG":
        raise PhotoError(f"{name}: a silhouette must be a PNG (JPEG smears its edges); save the mask as PNG")
    _check_size(picture, name)
    rgb = _to_rgb(_upright(picture, name))
    if rgb.shape != photo.rgb.shape:
        raise PhotoError(
            f"{name}: the silhouette is {rgb.shape[1]} x {rgb.shape[0]} px, the photo {photo.name} upright is "
            f"{photo.width_px} x {photo.height_px} px; draw the mask on the photo at its full size, not cropped or turned"
        )
    mask: Bool = rgb.mean(axis=2) >= 127.5
    if not mask.any():
        raise PhotoError(f"{name}: the silhouette is all black; paint the item white")
    if mask.all():
        raise PhotoError(f"{name}: the silhouette is all white; paint everything but the item black")
    return mask


def _open(data: bytes, name: str) -> Image.Image:
    if not data:
        raise PhotoError(f"{name}: the file is empty; copy the photo again")
    other = _other_format(data)
    if other:
        raise PhotoError(f"{name}: this is {other}; convert it to JPEG or PNG first")
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            return Image.open(io.BytesIO(data), formats=("JPEG", "PNG"))
    except (Image.DecompressionBombError, Image.DecompressionBombWarning) as error:
        raise PhotoError(_too_large(name, "")) from error
    except UnidentifiedImageError as error:
        raise PhotoError(f"{name}: this is not a JPEG or PNG image; {_JPEG_PNG}") from error
    except (OSError, ValueError, SyntaxError) as error:
        raise PhotoError(
            f"{name}: the image is damaged and cannot be read; copy it again, or {_JPEG_PNG}"
        ) from error


def _open_heic(data: bytes, name: str) -> Image.Image:
    """By pillow-heif, which turns the picture upright itself and takes the turn out of its EXIF."""
    try:
        import pillow_heif  # an optional extra, and slow to load
    except ImportError:
        raise PhotoError(
            f"{name}: this is a HEIC photo; install the extra that reads them (pip install 'insertgen[heic]'), or "
            "convert it to JPEG or PNG first"
        ) from None
    try:
        held = pillow_heif.open_heif(io.BytesIO(data))
        _check_size(held, name)
        picture: Image.Image = held.to_pillow()
    except (OSError, ValueError, SyntaxError, RuntimeError, EOFError) as error:
        raise PhotoError(f"{name}: the HEIC photo is damaged and cannot be read; copy it again, or {_JPEG_PNG}") from error
    return picture


def _other_format(data: bytes) -> str | None:
    if data[4:8] == b"ftyp":
        kind = data[8:12]
        return "an AVIF photo" if kind in (b"avif", b"avis") else "a HEIC photo" if kind in _HEIF else "a film, or a photo of another kind"
    if data[:4] == b"RIFF" and data[8:12] == b"WEBP":
        return "a WebP picture"
    return next((what for magic, what in _MAGIC if data.startswith(magic)), None)


def _too_large(name: str, size: str) -> str:
    return (
        f"{name}: the photo is larger than {LARGEST_PIXELS // 1_000_000} megapixels{size}; "
        "save it smaller (12 megapixels are plenty)"
    )


def _check_size(picture: _Sized, name: str) -> None:
    width, height = picture.size
    if width * height > LARGEST_PIXELS:  # before decoding: a small file can hold a huge picture
        raise PhotoError(_too_large(name, f" ({width} x {height} px)"))
    if min(width, height) < SMALLEST_SIDE:
        raise PhotoError(
            f"{name}: the photo is {width} x {height} px, at least {SMALLEST_SIDE} px on a side are needed; "
            "take it with the camera's full resolution"
        )


def _focal_35mm(picture: Image.Image) -> float | None:
    try:
        value = picture.getexif().get_ifd(ExifTags.IFD.Exif).get(ExifTags.Base.FocalLengthIn35mmFilm)
        focal = float(value) if value is not None else 0.0
    except (OSError, ValueError, TypeError, ZeroDivisionError, SyntaxError, KeyError):
        return None  # broken EXIF is the same as none: trace warns of it
    return focal if FOCAL_RANGE[0] <= focal <= FOCAL_RANGE[1] else None


def _upright(picture: Image.Image, name: str) -> Image.Image:
    try:
        picture.load()
        return ImageOps.exif_transpose(picture)
    except (OSError, ValueError, SyntaxError, EOFError) as error:
        raise PhotoError(f"{name}: the image is cut short or damaged; copy it again from the camera") from error


def _to_rgb(picture: Image.Image) -> NDArray[np.uint8]:
    if picture.mode.startswith("I") or picture.mode == "F":  # 16-bit grey; Pillow would clip instead of scale
        grey = np.asarray(picture).astype(np.float64) / 257.0
        return np.repeat(np.clip(np.round(grey), 0, 255).astype(np.uint8)[:, :, None], 3, axis=2)
    if "transparency" in picture.info or picture.mode in ("RGBA", "LA", "PA"):
        layer = picture.convert("RGBA")
        picture = Image.alpha_composite(Image.new("RGBA", layer.size, (255, 255, 255, 255)), layer)
    return np.array(picture.convert("RGB"), dtype=np.uint8)
