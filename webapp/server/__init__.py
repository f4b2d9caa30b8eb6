"""How connections and requests share the machine, in front of the application.

lanes.py        which threads serve which requests, and how many of one sender at once
connections.py  connections that are slow or idle, and bodies that nobody may send
"""
