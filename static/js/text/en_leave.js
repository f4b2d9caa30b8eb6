/** Sentences of what is open before leaving the site, and of photos that show too little. */
export const LEAVE = {
  'photo_dark.again': 'This picture looks black. Take it again? Both are kept.',
  'photo_bright.again': 'This picture looks white. Take it again? Both are kept.',
  'photo_unsharp.again': 'This picture looks out of focus. Take it again? Both are kept.',

  'leave.title': 'Before you leave',
  'leave.under': 'What is missing while you are still here',
  'leave.chip': '{n} open that cannot be mended later',
  'leave.chip_one': '1 open that cannot be mended later',
  'leave.why': 'What the records lack or cannot have right. It judges neither the survey nor the place.',
  'leave.hazard': 'Hazards to people: tell whoever comes next',
  'leave.site': 'Cannot be mended later',
  'leave.desk': 'Can be mended at the desk',
  'leave.none': 'Nothing missing among these {n} checks:',
  'leave.looked_at': 'What is looked at ({n} checks)',
  'leave.of_job': 'The job',
  'leave.only_run': 'Shown for run {run} and the job.',
  'leave.all_runs': 'Show every run',
  'leave.unmeasured': '{n} photos could not be measured; nothing is said of how sharp or bright they are.',
  'leave.limits': 'What it goes by:'
};
