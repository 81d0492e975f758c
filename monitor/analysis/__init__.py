"""Numbers about series: windows, medians, baselines, projections. Pure; knows nothing of alerts or people."""
