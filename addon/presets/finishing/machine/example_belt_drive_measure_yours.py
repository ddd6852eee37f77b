import bpy

# Round figures as an example, of no machine in particular: measure yours.

machine = bpy.context.scene.finishing.machine
program = bpy.context.scene.finishing.program

machine.name = "Example, belt drive: measure yours"
machine.speed_x = 6000.0
machine.speed_y = 6000.0
machine.speed_z = 1000.0
machine.acceleration_x = 400.0
machine.acceleration_y = 400.0
machine.acceleration_z = 100.0
machine.corner_rounding_mm = 0.02
machine.air_feed = 6000.0
machine.plunge_feed = 500.0
machine.safe_height_mm = 5.0
machine.bed_x_mm = 700.0
machine.bed_y_mm = 700.0
machine.travel_z_mm = 100.0
machine.spindle_least = 10000.0
machine.spindle_greatest = 30000.0
machine.spin_up_seconds = 3.0
machine.tool_change_minutes = 3.0
machine.nut_diameter_mm = 25.0
machine.nut_length_mm = 20.0
machine.time_factor = 1.0
machine.corners = "corner speed"
machine.blocks_ahead = 16
machine.blocks_per_second = 100
machine.timing_tested = False
program.fusing_tolerance_mm = 0.0003
program.spindle_start = "wait in seconds"
program.first_rise = "by hand"
program.cancel_words = True
program.path_mode = True
