"""What doctest does not open, scripts that need a package of their own; and one thread a worker."""

import os

# read when numpy is first imported. The suite runs a worker a core: with a thread a core in each, they wait for one another (photos take 102 s in place of 78)
for library in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"):
    os.environ.setdefault(library, "1")

collect_ignore = ["bench/body_train.py", "bench/learning.py", "bench/render_bright.py", "bench/render_flat.py", "bench/render_materials.py", "bench/render_photos.py", "bench/render_resting.py", "bench/render_scenes.py", "bench/render_thin.py", "bench/render_tools.py", "bench/edge_train.py", "bench/render_edges.py", "bench/scene_train.py"]
