"""Good, then watch, then condemned, seen only at looks: a delay-time model. Pure numpy and scipy.

A defect begins at a spot, and some time later the spot is condemnable. A look that sees a begun
defect calls it *watch* with a chance below one; one that sees a condemnable spot condemns it.

panel      the reports of every look on every spot, with the life model of each row
delay      what a history of reports says of the time since the defect began
posterior  mean delay, detection and false watches, from the panel and common practice
outlook    the chance after a watch, and what it adds to the life model's survival
interval   the interval of looks that costs least

After Christer and Waller (Journal of the Operational Research Society 35, 1984), whose delay time
runs from the first visible sign to the failure; here it ends when the spot is condemnable.
"""
