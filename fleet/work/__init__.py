"""Long work: asked for on a page or by the clock, claimed by a worker, told in words.

asking    a row is made, the worker's bell is rung; or somebody asks for it to be cancelled
claiming  a row becomes one worker's by a conditional update; what got stuck is taken up again
doing     the job of the row's kind is run, with its progress; what came of it is recorded
rounds    what the clock asks for; the time of it is in the database
files     what a job made to be downloaded, kept some days
pruning   finished rows and their files are taken out after a while

The jobs live in the apps that know how; settings name them.
"""
