"""Drawing interchange files: contours to DXF bytes and back; the only door to ezdxf."""
