"""Photos from site: read, written anew without where and by what they were taken, and kept small."""

import warnings
from io import BytesIO
from typing import BinaryIO

from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.utils.crypto import get_random_string
from PIL import Image, ImageOps, UnidentifiedImageError

from scheduling.errors import Refusal

FORMATS = ("JPEG", "PNG", "WEBP")
MOST_BYTES = 12 * 1024 * 1024  # our choice: phones send 3 to 8 MB
MOST_PIXELS = 60_000_000  # our choice: refused before it is unpacked
LONGEST_SIDE_PX, QUALITY = 1600, 80  # our choice: a crack still shows, and it is some 300 kB
NAME_LENGTH = 24


def keep_photo(*, upload: BinaryIO, size: int, folder: str) -> str:
    """Keep a picture under the folder and say by what name.

    Raises
    ------
    Refusal
        If it is too large, or no JPEG, PNG or WebP.
    """
    if size > MOST_BYTES:
        raise Refusal("The photo is too large.", code="photo_large", field="photo")
    made = BytesIO()
    _read(upload).save(made, "JPEG", quality=QUALITY, optimize=True)
    name = f"{folder}/{get_random_string(NAME_LENGTH)}.jpg"
    return default_storage.save(name, ContentFile(made.getvalue()))


def _read(upload: BinaryIO) -> Image.Image:
    """The picture itself, upright and no larger than needed; none of what was written beside it."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)  # we look at the size ourselves
            picture = Image.open(upload, formats=FORMATS)
        if picture.width * picture.height > MOST_PIXELS:
            raise Refusal("The photo is too large.", code="photo_large", field="photo")
        picture.draft("RGB", (LONGEST_SIDE_PX, LONGEST_SIDE_PX))  # a JPEG unpacks at near that size at once
        upright = ImageOps.exif_transpose(picture).convert("RGB")
        upright.thumbnail((LONGEST_SIDE_PX, LONGEST_SIDE_PX))
    except (UnidentifiedImageError, OSError, SyntaxError, ValueError, Image.DecompressionBombError) as bad:
        raise Refusal("That is no photo we can read.", code="photo_kind", field="photo") from bad
    plain = Image.new("RGB", upright.size)
    plain.paste(upright)
    return plain
