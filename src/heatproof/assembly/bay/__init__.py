"""The bay in space, wired into the network: scene, radiation by view factors, close gaps, hot spots."""
