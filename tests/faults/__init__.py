"""Faults on purpose: real workers killed, real servers restarted, while reminders go out.

``python -m tests.faults reminders`` does it in full and prints its table; the suite does a little.

stage   the servers, a worker, fleets whose boats are all due
traps   where a worker is caught: claiming, sending, recording
kills   caught, killed with SIGKILL, taken up again, to the end
tally   every reminder delivered, none twice beyond the window
chaos   two beats, two workers; Redis, PostgreSQL, the mail server restarted; a full disk
"""
