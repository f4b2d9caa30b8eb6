/** What the safety sheet says so far. It never adds up to "safe". */

/** @typedef {import('../../ui/types.js').App} App */
/** @typedef {import('../../ui/types.js').JobView} JobView */

/** @typedef {import('../../records/tables.js').SafetyQuestion} SafetyQuestion */
/** @typedef {import('../../records/types.js').CheckRecord} CheckRecord */
/** @typedef {import('../../records/types.js').Answer} Answer */
/**
 * @typedef {{question: SafetyQuestion, record: CheckRecord | null, answer: Answer | null, differs: boolean}}
 *   SafetyAnswer
 */

/**
 * @param {App} app
 * @param {JobView} view
 * @returns {{rows: SafetyAnswer[], answered: number, total: number, differing: SafetyAnswer[], entry:
 *   boolean}}
 */
export function safetyState(app, view) {
  /** @type {Map<string, CheckRecord>} */
  const byQuestion = new Map();
  for (const record of view.records('check')) {
    if (record.fields.check_type === 'safety_sheet' && record.fields.question_id)
      byQuestion.set(record.fields.question_id, record);
  }
  const rows = app.tables.safety_sheet.rows.map((question) => {
    const record = byQuestion.get(question.id) ?? null;
    const answer = record?.fields.answer ?? null;
    return { question, record, answer, differs: answer !== null && !asExpected(question.expected, answer) };
  });
  return {
    rows,
    answered: rows.filter((row) => row.answer !== null).length,
    total: rows.length,
    differing: rows.filter((row) => row.differs),
    entry: rows.some((row) => row.question.id === 'entry_needed' && row.answer === 'yes')
  };
}

/** @param {SafetyQuestion['expected']} expected @param {Answer} answer @returns {boolean} */
export function asExpected(expected, answer) {
  if (expected === 'yes_or_na') return answer === 'yes' || answer === 'not_applicable';
  return answer === expected;
}
