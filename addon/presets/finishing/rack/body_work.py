import bpy

rack = bpy.context.scene.finishing

rack.as_text = """[
{"name": "Round-nose 12", "diameter": 12.0, "flutes": 2, "usable_length": 40.0, "shank_diameter": 12.0, "stick_out": 55.0, "feed": 3500.0, "spindle_speed": 18000.0},
{"name": "Round-nose 16", "diameter": 16.0, "flutes": 2, "usable_length": 50.0, "shank_diameter": 12.0, "stick_out": 60.0, "feed": 3500.0, "spindle_speed": 18000.0},
{"name": "Round-nose 22", "diameter": 22.0, "flutes": 2, "usable_length": 50.0, "shank_diameter": 12.0, "stick_out": 60.0, "feed": 3500.0, "spindle_speed": 18000.0},
{"name": "Round-nose 25", "diameter": 25.0, "flutes": 2, "usable_length": 50.0, "shank_diameter": 12.0, "stick_out": 60.0, "feed": 3500.0, "spindle_speed": 16000.0},
{"name": "Round-nose 32", "diameter": 32.0, "flutes": 2, "usable_length": 50.0, "shank_diameter": 12.0, "stick_out": 60.0, "feed": 3500.0, "spindle_speed": 14000.0}
]"""
