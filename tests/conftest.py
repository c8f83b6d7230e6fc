"""What doctest does not open: scripts that need a package of their own."""

collect_ignore = ["bench/body_train.py", "bench/learning.py", "bench/render_bright.py", "bench/render_flat.py", "bench/render_materials.py", "bench/render_photos.py", "bench/render_resting.py", "bench/render_scenes.py", "bench/render_thin.py", "bench/render_tools.py", "bench/edge_train.py", "bench/render_edges.py", "bench/scene_train.py"]
