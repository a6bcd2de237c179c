"""Planning: from the life of a part to what is done about it. Pure numpy and scipy, no Django.

spots        what stands on the boats today, one row per spot
lifetimes    the posterior draws of the life models, with each boat's own effect
prospect     survival of what stands under every draw, some boats at a time
outlook      chance condemned, found, by date; remaining life
drivers      what shortens or lengthens the life of a part
inspect_by   when a boat should next be looked at, and from where
hours        what an hour of looking buys: which boats first
failing      chance of failing in service
renewal_age  the age that costs least in the long run; renewal_ages: of all parts at once
refit        the list of work for the coming off season; work: its jobs and totals
seasons      the same over several off seasons, under limits, with a proven gap
renewals     simulated renewals over the years to come
budget       the money they cost, by fiscal year; ledger: lines that add to the cent
"""
