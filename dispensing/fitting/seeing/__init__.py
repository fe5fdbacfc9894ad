"""What a photo of a face in a frame shows: eyes, pupils, the frame's edges. Proposals in pixels, never measurements."""
