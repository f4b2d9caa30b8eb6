/** Sentences of the help with clock positions from a camera off the axis. */
export const CLOCK = {
  'clock.off_axis':
    'Camera {camera} mm above invert (measured) in a {size} mm pipe ({known}): what you see at {seen} is at {true} on the wall, {away} m from the camera (computed, camera taken midway across).',
  'clock.use': 'Use {use}',
  'clock.used': 'Now {use}, for what was seen at {seen}.',
  'clock.size_measured': 'size measured',
  'clock.size_drawing': 'size from a drawing',
  'clock.size_assumed': 'size assumed',
  'clock.size_unsaid': 'not said how its size is known'
};
