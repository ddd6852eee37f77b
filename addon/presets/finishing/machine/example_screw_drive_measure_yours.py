import bpy

# Round figures as an example, of no machine in particular: measure yours.

machine = bpy.context.scene.finishing.machine
program = bpy.context.scene.finishing.program

machine.name = "Example, screw drive: measure yours"
machine.speed_x = 5000.0
machine.speed_y = 5000.0
machine.speed_z = 2500.0
machine.acceleration_x = 400.0
machine.acceleration_y = 400.0
machine.acceleration_z = 250.0
machine.corner_rounding_mm = 0.02
machine.air_feed = 5000.0
machine.plunge_feed = 1200.0
machine.safe_height_mm = 5.0
machine.bed_x_mm = 600.0
machine.bed_y_mm = 900.0
machine.travel_z_mm = 150.0
machine.spindle_least = 6000.0
machine.spindle_greatest = 24000.0
machine.spin_up_seconds = 3.0
machine.tool_change_minutes = 2.0
machine.nut_diameter_mm = 30.0
machine.nut_length_mm = 25.0
machine.time_factor = 1.0
machine.corners = "overlap"
machine.blocks_ahead = 32
machine.blocks_per_second = 100
machine.timing_tested = False
program.fusing_tolerance_mm = 0.0003
program.spindle_start = "wait in seconds"
program.first_rise = "by hand"
program.cancel_words = True
program.path_mode = True
