"""What a manager asks of finished pairs: each lab's hand, and what was made again, and why. Pure sums, and charts.

Only ``charts`` draws. Every figure comes with its count, and with the band in which the truth lies.
"""
