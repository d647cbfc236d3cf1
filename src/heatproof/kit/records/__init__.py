"""Frozen records of car, kit, measures and duties. SI floats: K, Pa, kg, m, s, W; rotation in rev/s."""
