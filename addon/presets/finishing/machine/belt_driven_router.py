import bpy

machine = bpy.context.scene.finishing.machine
program = bpy.context.scene.finishing.program

machine.name = "Belt-driven router"
machine.speed_x = 8000.0
machine.speed_y = 8000.0
machine.speed_z = 1200.0
machine.acceleration_x = 500.0
machine.acceleration_y = 500.0
machine.acceleration_z = 120.0
machine.junction_deviation_mm = 0.02
machine.air_feed = 8000.0
machine.plunge_feed = 700.0
machine.safe_height_mm = 5.0
machine.bed_x_mm = 750.0
machine.bed_y_mm = 750.0
machine.travel_z_mm = 95.0
machine.spindle_least = 10000.0
machine.spindle_greatest = 30000.0
machine.spin_up_seconds = 3.0
machine.tool_change_minutes = 3.0
machine.nut_diameter_mm = 22.0
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
