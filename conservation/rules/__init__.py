"""The rules of care as tables and pure evaluators: grade, urgency, intervals, follow-ups. No framework but in apps.py.

The numbers of grade, urgency and intervals are a proposal of this project, not a published standard; what is
published (ISO 4628-3, ASTM D610, the mould times of CCI Notes 8/1) is named where it stands.
"""
