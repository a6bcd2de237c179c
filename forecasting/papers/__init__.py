"""Files people hand over: papers as PDF, workbooks as XLSX, rows as CSV.

Each names the fleet, its day, its currency and the models its numbers rest on. The same data give
the same bytes.
"""
