"""Drawings of an order, as SVG text, for both the pages and the lab-order PDF.

Pure: documents and figures in, text out. All drawings are in mm as seen from the front, facing the wearer, so
the wearer's right lens is on the left. They look right on paper without a page's styles; on a page, the page's
classes win. These modules must never know Django, a database or a file.
"""

from orders.drawings.edge_round import edge_drawing
from orders.drawings.outline import shape_drawing
from orders.drawings.pair import LEGEND, order_drawing
from orders.drawings.thickness import LEGEND as SECTION_LEGEND
from orders.drawings.thickness import thickness_drawing

__all__ = ["LEGEND", "SECTION_LEGEND", "edge_drawing", "order_drawing", "shape_drawing", "thickness_drawing"]
