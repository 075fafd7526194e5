"""ANALYSIS: arrays in, values out; no file, device, clock or screen."""
