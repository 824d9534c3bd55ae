"""Which part of the section is seen: fit to the tank or to everything, zoomed, moved."""

from levelbench.drawing.frame import Fit, Frame, Size, frame
from levelbench.quantity import written
from levelbench.rig import Rig

NEAREST, FURTHEST = 10.0, 0.5  # how far it can be zoomed in and out
STEP = 1.25  # of one turn of the wheel, of one press of a key
LEGIBLE = (
    17.0  # text sizes, as high as the ladder: a tank lower than this beside everything is fitted by itself at first
)
SAME = 0.95  # the tank alone would be hardly larger: everything is shown at first
KEPT = 40.0  # px of the tank that stay in sight
WORDS = {
    Fit.ALL: "all at true height and width",
    Fit.TANK: "true heights, fitted to the tank",
}


class Sight:
    """What is seen. A person's choice stays until the next one; before the first the more legible fit is taken."""

    def __init__(self) -> None:
        self._fit: Fit | None = None
        self._laid: tuple[Frame, Frame] | None = None  # as fitted; zoomed and moved
        self.fit = Fit.ALL
        self.zoom, self._right, self._down = 1.0, 0.0, 0.0

    def lay(self, rig: Rig, size: Size) -> Frame:
        """Lay a rig out in the room that there is."""
        whole = frame(rig, size, Fit.ALL)
        tank = frame(rig, size, Fit.TANK)
        legible = whole.scale * whole.profile.rim >= LEGIBLE * size.text or whole.scale > SAME * tank.scale
        fit = self._fit or (Fit.ALL if legible else Fit.TANK)
        fitted = whole if fit is Fit.ALL else tank
        self.fit = fit
        self._hold(fitted)
        laid = fitted.moved(self.zoom, self._right, self._down)
        self._laid = fitted, laid
        return laid

    @property
    def words(self) -> str:
        """What is seen, in words."""
        seen = WORDS[self.fit] if self._laid else ""
        if self._laid and self._laid[1].basin.floor > self._laid[1].size.height + 1:
            seen = "true heights · reservoir further down ↓"
        return seen if self.zoom == 1.0 else f"{written(self.zoom, '.1f')} × · true heights"

    @property
    def over_the_scale(self) -> bool:
        """Whether the tank may reach over the scale, where it has to be cut off."""
        return self.zoom > 1.0 or self._right > 0.0

    def fit_to(self, fit: Fit | None) -> None:
        """Show the tank or everything, or with None whatever is more legible; zoom and move are given up."""
        self._fit = fit
        self.zoom, self._right, self._down = 1.0, 0.0, 0.0

    def zoom_by(self, factor: float, about: tuple[float, float] | None = None) -> None:
        """Zoom about a place of the drawing, which stays where it is (without one: about the tank's middle)."""
        if self._laid is None:
            return
        fitted, laid = self._laid
        factor = min(max(self.zoom * factor, FURTHEST), NEAREST) / self.zoom
        x, y = about or (laid.middle, laid.y(laid.profile.rim / 2))
        self.zoom *= factor
        if abs(self.zoom - 1.0) < 1e-6:
            self.zoom = 1.0
        self._right = x + (laid.middle - x) * factor - fitted.middle
        self._down = y + (laid.floor - y) * factor - fitted.floor

    def move(self, right: float, down: float) -> None:
        """Move the drawing [px]."""
        self._right += right
        self._down += down

    def _hold(self, fitted: Frame) -> None:
        """Keep something of the rig in sight."""
        laid = fitted.moved(self.zoom, 0.0, 0.0)
        half, tall = (laid.right - laid.left) / 2, laid.scale * laid.profile.rim
        low = max(laid.basin.floor, laid.floor) - laid.floor
        self._right = min(max(self._right, KEPT - half - laid.middle), laid.axis - KEPT + half - laid.middle)
        self._down = min(max(self._down, KEPT - low - laid.floor), laid.size.height - KEPT + tall - laid.floor)
