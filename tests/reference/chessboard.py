#!/usr/bin/env python3
"""Corners of OpenCV's public chessboard photographs and what Python's OpenCV makes of them -> chessboard.json.

Photographs: samples/data/left01.jpg ... left14.jpg of OpenCV 4.6 (Debian package opencv-doc 4.6.0+dfsg-12,
/usr/share/doc/opencv-doc/examples/data; Apache-2.0). Published beside them: left_intrinsics.yml (13 views,
10 x 7 squares, i.e. 9 x 6 inner corners, one focal length, reprojection error).

Pinned: Python 3.11, opencv-python-headless 4.12.0.88, numpy 2.2.6.
Run: apt-get download opencv-doc; dpkg-deb -x opencv-doc*.deb doc
     python3 chessboard.py doc/usr/share/doc/opencv-doc/examples/data
"""
import glob
import json
import sys

import cv2
import numpy as np

COLUMNS, ROWS = 9, 6


def corners(path):
    grey = cv2.imread(path, cv2.IMREAD_GRAYSCALE)
    found, at = cv2.findChessboardCorners(grey, (COLUMNS, ROWS))
    assert found, path
    stop = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_COUNT, 30, 0.1)
    return cv2.cornerSubPix(grey, at, (11, 11), (-1, -1), stop), grey.shape[::-1]


def fitted(views, size, flags):
    grid = np.zeros((COLUMNS * ROWS, 3), np.float32)
    grid[:, :2] = np.mgrid[0:COLUMNS, 0:ROWS].T.reshape(-1, 2)
    stop = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_COUNT, 200, 1e-13)
    start = np.eye(3)
    rms, camera, bent, _, _, sd, _, by_view = cv2.calibrateCameraExtended(
        [grid] * len(views), views, size, start, None, flags=flags, criteria=stop)
    k1, k2, p1, p2, k3 = (float(x) for x in bent.ravel()[:5])
    return {
        "rms_px": rms, "fx": camera[0, 0], "fy": camera[1, 1], "cx": camera[0, 2], "cy": camera[1, 2],
        "k1": k1, "k2": k2, "p1": p1, "p2": p2, "k3": k3,
        "sd_fx": float(sd[0, 0]), "by_view_px": [float(x) for x in by_view.ravel()],
    }


def main():
    folder = sys.argv[1]
    paths = sorted(glob.glob(f"{folder}/left[0-9][0-9].jpg"))
    # Rounded to what a float32 corner is worth, so that the fixture and Python fit the same numbers.
    views = [np.round(corners(p)[0].astype(np.float64), 3).astype(np.float32) for p in paths]
    size = corners(paths[0])[1]
    store = cv2.FileStorage(f"{folder}/left_intrinsics.yml", cv2.FILE_STORAGE_READ)
    camera = store.getNode("camera_matrix").mat()
    k1, k2, p1, p2, k3 = (float(x) for x in store.getNode("distortion_coefficients").mat().ravel())
    fixture = {
        "made_by": f"chessboard.py, OpenCV {cv2.__version__}, numpy {np.__version__}",
        "size": list(size), "columns": COLUMNS + 1, "rows": ROWS + 1,
        "published": {
            "fx": camera[0, 0], "cx": camera[0, 2], "cy": camera[1, 2],
            "k1": k1, "k2": k2, "p1": p1, "p2": p2, "k3": k3,
            "rms_px": store.getNode("avg_reprojection_error").real(),
            "by_view_px": [float(x) for x in store.getNode("per_view_reprojection_errors").mat().ravel()],
        },
        "one_focal": fitted(views, size, cv2.CALIB_FIX_ASPECT_RATIO),
        "free": fitted(views, size, 0),
        "no_sixth_power": fitted(views, size, cv2.CALIB_FIX_K3),
        "views": [[[round(float(x), 3), round(float(y), 3)] for x, y in v.reshape(-1, 2)] for v in views],
    }
    with open("chessboard.json", "w") as out:
        json.dump(fixture, out, separators=(",", ":"))
        out.write("\n")
    for name in ("published", "one_focal", "free", "no_sixth_power"):
        print(name, {k: v for k, v in fixture[name].items() if k != "by_view_px"})


if __name__ == "__main__":
    main()
