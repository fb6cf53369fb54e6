#pragma once

#include <vector>

#include "anfract/base/progress.h"
#include "attempt.h"
#include "ledger.h"

namespace anfract {

using Candidates = std::vector<const Device*>;

/// How an instrument is tried.
enum class How {
    Finish,   ///< to the working depth
    Open,     ///< down the upper part, or to a depth
    Descend,  ///< as far as it goes
};

/// One thing to try: which state, which instrument, how.
struct Trial {
    const ShapingState* state = nullptr;
    const Device* device = nullptr;
    How how = How::Finish;
    double open_to_mm = 0;  ///< of an opening; 0: the upper part
};

/// Tries things and notes what came of them.
class Trials {
  public:
    /// Refers to its arguments, which must outlive it.
    Trials(const Bench& bench, const OrderOptions& options, const Progress& progress,
           Ledger& ledger)
        : bench_(bench), options_(options), progress_(progress), ledger_(ledger) {}

    /// All attempts in parallel, each in its own slot, so that their order never depends on
    /// threads. Errors: Cancelled, and those of `rehearse`.
    /// @param note  No for instruments that are not those of the tray
    enum class Note { No, Yes };
    Result<std::vector<Attempt>> run(const std::vector<Trial>& trials, Note note = Note::Yes);

  private:
    const Bench& bench_;
    const OrderOptions& options_;
    const Progress& progress_;
    Ledger& ledger_;
};

}  // namespace anfract
