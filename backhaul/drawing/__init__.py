"""Line drawings: each path from left to right, and the whole design by its sites."""
