/** Sentences of the way in: the invitation, and who this phone is to the server. */
export const ACCESS = {
  'join.title': 'Connect this phone',
  'join.server': 'Server: {host}',
  'join.looking': 'Asking the server what this invitation is for.',
  'join.surveyor': 'This phone is to record and sync{job}.',
  'join.office': 'This browser is to be an office: it may see all jobs, take in files and let others in.',
  'join.one_job': ' one job only',
  'join.until': 'The invitation holds until {when}, and works once.',
  'join.name': 'Name of this phone',
  'join.name_help': 'So that the office knows it, for example by whose it is.',
  'join.name_needed': 'The phone needs a name.',
  'join.do': 'Connect this phone',
  'join.done': 'Connected as {name}.',
  'join.done_why': 'What is on this phone goes to the server from now on, by itself.',
  'join.on': 'To the jobs',
  'join.no_code':
    'Open the link of an invitation on this phone, or put it in here. The office makes one under Phones, or with fallbook invite.',
  'join.link': 'Link of the invitation',
  'join.take': 'Look at it',
  'join.link_bad': 'This is not the link of an invitation: it ends with # and 43 letters and digits.',
  'join.link_elsewhere':
    'This invitation is for {there}, and this app is of {here}. Open the link in the browser.',
  'join.ios':
    'On an iPhone put Fallbook on the home screen first (Share, Add to Home Screen), open it there, and put the link in there: the browser and the home screen share nothing.',
  'join.offline':
    'The server cannot be reached. The invitation is not used: try again when there is a signal.',
  'join.again': 'Try again',

  'access.title': 'Server',
  'access.asking': 'Asking the server.',
  'access.host': 'Server: {host}',
  'access.this_machine_only': 'Open to its own machine only; nobody is asked for a credential.',
  'access.local': 'This is the machine that the server runs on.',
  'access.surveyor': 'Connected as {name}, surveyor{job}.',
  'access.office': 'Connected as {name}, office.',
  'access.client': 'This browser reads by a client’s link. Nothing recorded here can be sent with it.',
  'access.one_job': ', for one job',
  'access.unreached': 'The server cannot be reached now. Last known: {what}',
  'access.unreached_never': 'The server has not been reached from this phone yet.',
  'access.connect': 'Connect with an invitation',
  'access.connect_again': 'Connect with another invitation',
  'access.kept': 'A job can be saved to a file, further down, and handed over with no server.'
};
