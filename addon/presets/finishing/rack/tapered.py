import bpy

rack = bpy.context.scene.finishing

rack.as_text = """[
{"name": "Tapered 2", "diameter": 2.0, "flutes": 2, "usable_length": 30.0, "shank_diameter": 6.0, "stick_out": 40.0, "feed": 1500.0, "spindle_speed": 18000.0, "half_angle": 4.0, "top_diameter": 6.0},
{"name": "Tapered 3", "diameter": 3.0, "flutes": 2, "usable_length": 20.0, "shank_diameter": 6.0, "stick_out": 35.0, "feed": 2000.0, "spindle_speed": 18000.0, "half_angle": 5.0, "top_diameter": 6.0},
{"name": "Round-nose 6", "diameter": 6.0, "flutes": 2, "usable_length": 25.0, "shank_diameter": 6.0, "stick_out": 35.0, "feed": 2500.0, "spindle_speed": 18000.0},
{"name": "Round-nose 12", "diameter": 12.0, "flutes": 2, "usable_length": 40.0, "shank_diameter": 12.0, "stick_out": 55.0, "feed": 3500.0, "spindle_speed": 18000.0},
{"name": "Round-nose 16", "diameter": 16.0, "flutes": 2, "usable_length": 50.0, "shank_diameter": 12.0, "stick_out": 60.0, "feed": 3500.0, "spindle_speed": 18000.0},
{"name": "Round-nose 25", "diameter": 25.0, "flutes": 2, "usable_length": 50.0, "shank_diameter": 12.0, "stick_out": 60.0, "feed": 3500.0, "spindle_speed": 16000.0}
]"""
