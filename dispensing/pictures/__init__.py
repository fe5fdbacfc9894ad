"""Pictures in mm of frames and the eyes behind them, as SVG text, for pages and paper.

Pure: figures in, text out. It must never know Django, the database or an order.
"""
