"""What somebody who looks after the server can see of it: is it alive and ready, what it measures, what it logs.

Nothing here says anything about a patient. An app adds its own readiness checks and figures in a module ``watching``.
"""
