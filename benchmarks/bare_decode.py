"""The floor: decode picture and all sound of one file with PyAV and libav's own threads, and do nothing with it."""

from __future__ import annotations

import sys

import av


def main(path: str) -> None:
    with av.open(path) as container:
        picture = container.streams.video[0]
        picture.thread_type = "AUTO"
        frames = 0
        for packet in container.demux(picture, *container.streams.audio):
            for _ in packet.decode():
                frames += 1
    print(frames)


if __name__ == "__main__":
    main(sys.argv[1])
