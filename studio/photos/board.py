"""What the page of a project's photographs shows, in a fixed number of queries."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from functools import cached_property

from django.urls import reverse

from studio.models import Photo, Piece, Project
from studio.photos import filing
from studio.photos.camera_findings import PhotoFindings
from studio.photos.confirming import found_of

CONFIRMED, ALL_ROUND, TO_CONFIRM, TO_MEASURE, NO_MAT, PLAIN = (
    "confirmed",
    "all round",
    "to confirm",
    "to measure",
    "by hand",
    "detail",
)
WORDS = {
    CONFIRMED: "confirmed",
    ALL_ROUND: "one of those all round",
    TO_CONFIRM: "look it over",
    TO_MEASURE: "not measured yet",
    NO_MAT: "cannot be measured",
    PLAIN: "not measured: a detail",
}


@dataclass(frozen=True, slots=True)
class PhotoTile:
    """One photo on the page: how it stands, and a sentence where it needs one."""

    photo: Photo
    state: str
    message: str = ""
    offered: Piece | None = None
    unsure: bool = False

    @property
    def word(self) -> str:
        return f"{WORDS[self.state]}; not every size is sure" if self.unsure else WORDS[self.state]


@dataclass(frozen=True)
class PhotoBoard:
    """The tray of unfiled photos, and the pieces with theirs."""

    tray: tuple[PhotoTile, ...]
    rows: tuple[tuple[Piece, tuple[PhotoTile, ...]], ...]
    without: tuple[Piece, ...]

    @property
    def tiles(self) -> list[PhotoTile]:
        return [*self.tray, *(tile for _, tiles in self.rows for tile in tiles)]

    def count(self, state: str) -> int:
        return sum(tile.state == state for tile in self.tiles)

    @property
    def to_confirm(self) -> int:
        return self.count(TO_CONFIRM)

    @property
    def to_measure(self) -> int:
        """Filed photos that nobody measured; one in the tray waits for its piece first."""
        return sum(len(group["photos"]) for group in self.waiting)

    @cached_property
    def waiting(self) -> list[dict]:
        """The photos to measure, by piece and stage, as the page's script takes them: ``piece``,
        and ``photos`` with ``id`` and ``read``, the address that measures it with its like."""
        groups: dict[tuple, dict] = {}
        for piece, tiles in self.rows:
            for photo in [tile.photo for tile in tiles if tile.state == TO_MEASURE]:
                group = groups.setdefault(
                    (piece.pk, photo.stage), {"piece": piece.code, "photos": []}
                )
                read = reverse("photo_read", args=[photo.pk])
                group["photos"].append({"id": photo.pk, "read": read})
        return list(groups.values())

    @property
    def first_to_confirm(self) -> Photo | None:
        return next((tile.photo for tile in self.tiles if tile.state == TO_CONFIRM), None)


def state_of(photo: Photo, found: PhotoFindings) -> str:
    """How a photo stands."""
    if photo.confirmed_at:
        return CONFIRMED
    if photo.turning_id:
        return ALL_ROUND
    if photo.view == Photo.View.DETAIL:
        return PLAIN
    if found.camera is None and photo.found:
        return NO_MAT
    if photo.piece_id is None or not found.measured:
        return TO_MEASURE
    return TO_CONFIRM


def tile_of(photo: Photo, offered: Piece | None = None) -> PhotoTile:
    found = found_of(photo)
    state = state_of(photo, found)
    unsure = state == TO_CONFIRM and not all(one.trusted for one in found.measures.values())
    # Of one that waits: why measuring it came to nothing.
    message = found.message if state in {NO_MAT, TO_MEASURE} else ""
    return PhotoTile(photo, state, message, offered, unsure)


def board_of(project: Project) -> PhotoBoard:
    """Everything the page shows: the section's tray, and this project's pieces."""
    pieces = list(project.pieces.in_order())
    filed = list(
        Photo.objects.filter(section=project.section, piece__isnull=False)
        .select_related("piece")
        .in_order()
    )
    tray = list(Photo.objects.filter(section=project.section, piece=None).in_order())
    offered = filing.likeliest(tray, filed)
    mine = defaultdict(list)
    for photo in filed:
        mine[photo.piece_id].append(tile_of(photo))
    return PhotoBoard(
        tuple(tile_of(photo, offered.get(photo.pk)) for photo in tray),
        tuple((piece, tuple(mine[piece.pk])) for piece in pieces if mine[piece.pk]),
        tuple(piece for piece in pieces if not mine[piece.pk]),
    )
