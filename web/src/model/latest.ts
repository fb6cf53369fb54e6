/**
 * Sends the newest of a stream of questions, one at a time: while an answer is awaited only the latest question is
 * kept. So a dragged bar asks as fast as the server answers and never builds up a queue.
 */
export class LatestWins<Question, Answer> {
  private busy = false;
  private waiting: { question: Question } | null = null;

  constructor(
    private readonly ask: (question: Question) => Promise<Answer>,
    private readonly deliver: (answer: Answer, question: Question) => void,
    private readonly fail: (cause: unknown, question: Question) => void,
  ) {}

  put(question: Question): void {
    if (this.busy) this.waiting = { question };
    else void this.run(question);
  }

  /** Forgets what has not been asked yet; an answer on its way is still delivered. */
  clear(): void {
    this.waiting = null;
  }

  private async run(question: Question): Promise<void> {
    this.busy = true;
    try {
      this.deliver(await this.ask(question), question);
    } catch (cause) {
      this.fail(cause, question);
    }
    this.busy = false;
    const next = this.waiting;
    this.waiting = null;
    if (next) void this.run(next.question);
  }
}
