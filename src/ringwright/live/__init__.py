"""Live intake: one check behind three doors (drop folder, HTTP, MQTT); acknowledged only after the commit."""
