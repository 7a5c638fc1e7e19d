"""Reads grey pictures from standard input, one after the other, each as `width height` on a line
and then its bytes, and prints what the square on each says, or an empty line. The reader is
zxing-cpp, which is not ours."""

import sys

import zxingcpp

while header := sys.stdin.buffer.readline():
    width, height = map(int, header.split())
    picture = memoryview(sys.stdin.buffer.read(width * height)).cast("B", shape=[height, width])
    found = zxingcpp.read_barcodes(picture, formats=zxingcpp.BarcodeFormat.QRCode)
    print(found[0].text if len(found) == 1 else "")
