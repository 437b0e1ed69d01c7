"""The demo: a made-up company and eight weeks of its work. The same every time from one seed."""
