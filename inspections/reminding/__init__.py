"""How a due thing becomes mail somebody reads.

recipients    who is told of what: owner or skipper, bosun, manager, and from when on
hours         pure: quiet hours in a person's own time zone
set_aside     what nobody is reminded of for a while: snoozed, or done elsewhere
digest        one person's message of a day; ``phrases`` its fixed words in four languages
placeholders  pure: a fleet's own words, with a strict list of what may stand in braces
back_off      pure: when a failed message is tried again
refusals      pure: what a mail server's answer means, in words
bounces       mail that came back (RFC 3464)
stopping      the signed link by which an owner hears no more (RFC 8058)
notices       what the sender tells the person in charge about itself
health        whether reminders run, and what is stuck
preview       who would get what, before the first sending
outbox_words  pure: how all of them stand, in one line
"""
