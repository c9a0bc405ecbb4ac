# Makes assets/fonts/*.ttf: the JIS X 0208 and Latin part of Noto Sans CJK JP, with
# quadratic outlines, which every reader of fonts knows. Debian's fonts-noto-cjk
# 20220127 and fonttools: python3 make.py /usr/share/fonts/opentype/noto, in this folder
import sys

from fontTools import subset
from fontTools.pens.cu2quPen import Cu2QuPen
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.ttLib import TTFont, newTable

chars = set(range(0x20, 0x7F)) | set(range(0xA0, 0x180)) | set(range(0xFF01, 0xFF5F))
chars |= set(map(ord, "–—‘’“”„‚…‹›→←↑↓±×′″−≤≥≈·•√Δ¼½¾²³µΩ₀₁₂"))
for row in range(0xA1, 0xFF):
    for cell in range(0xA1, 0xFF):
        try:
            chars.add(ord(bytes([row, cell]).decode("euc_jp")))
        except UnicodeDecodeError:
            pass

for weight in ("Regular", "Bold"):
    font = TTFont(f"{sys.argv[1]}/NotoSansCJK-{weight}.ttc", fontNumber=0)
    options = subset.Options(layout_features=["kern", "ccmp", "mark"], notdef_outline=True, hinting=False, name_IDs=[0, 1, 2, 4, 5, 6, 13, 14], name_languages=[0x409])
    subsetter = subset.Subsetter(options)
    subsetter.populate(unicodes=chars)
    subsetter.subset(font)
    missing = [chr(c) for c in sorted(chars) if c not in font.getBestCmap()]
    print(weight, len(font.getBestCmap()), "missing:", "".join(missing))
    glyphs, drawn = {}, font.getGlyphSet()
    for name in font.getGlyphOrder():
        pen = TTGlyphPen(drawn)
        drawn[name].draw(Cu2QuPen(pen, font["head"].unitsPerEm / 1000, reverse_direction=True))
        glyphs[name] = pen.glyph()
    font["loca"], glyf = newTable("loca"), newTable("glyf")
    glyf.glyphOrder, glyf.glyphs = font.getGlyphOrder(), glyphs
    font["glyf"] = glyf
    for table in ("CFF ", "VORG", "vhea", "vmtx", "DSIG", "BASE"):
        if table in font:
            del font[table]
    most = font["maxp"]
    most.tableVersion = 0x00010000
    for field in ("TwilightPoints", "Storage", "FunctionDefs", "InstructionDefs", "StackElements", "SizeOfInstructions", "ComponentElements", "Points", "Contours", "CompositePoints", "CompositeContours", "ComponentDepth"):
        setattr(most, "max" + field, 0)
    most.maxZones = 1
    # Lines as high as those of the toolkit's own font, for which the window has room.
    font["hhea"].ascent, font["hhea"].descent, font["hhea"].lineGap = 1069, -293, 0
    os2 = font["OS/2"]
    os2.sTypoAscender, os2.sTypoDescender, os2.sTypoLineGap, os2.usWinAscent, os2.usWinDescent = 1069, -293, 0, 1069, 293
    font["post"].formatType, font["post"].extraNames, font["post"].mapping = 3.0, [], {}
    font.sfntVersion = "\0\1\0\0"
    font.save(f"noto-sans-jp-{weight.lower()}.ttf")
