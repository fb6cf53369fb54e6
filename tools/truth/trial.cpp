#include "trial.h"

#include <time.h>

#include <atomic>
#include <chrono>

#include "anfract/base/parallel.h"
#include "anfract/phantom/random.h"

namespace anfract::truth {
namespace {

double cpu_now(clockid_t clock) {
    timespec now{};
    clock_gettime(clock, &now);
    return double(now.tv_sec) + 1e-9 * double(now.tv_nsec);
}

}  // namespace

TraceRequest request_for(const Phantom& phantom) {
    TraceRequest request;
    request.inside_P = phantom.inside_P;
    request.reference_P = phantom.reference_P;
    request.fdi = phantom.truth.fdi;
    return request;
}

Trial trace_phantom(const PhantomOptions& options) {
    Trial run;
    run.options = options;
    const Progress progress;
    const Result<Phantom> phantom = make_phantom(options, progress);
    if (!phantom) {
        run.failure = phantom.error().sentence();
        return run;
    }
    run.fdi = phantom->truth.fdi;
    TraceRequest request = request_for(*phantom);
    request.threads = options.threads;
    // With one thread, others may be running phantoms beside this one.
    const clockid_t cpu_clock =
        options.threads == 1 ? CLOCK_THREAD_CPUTIME_ID : CLOCK_PROCESS_CPUTIME_ID;
    const auto start = std::chrono::steady_clock::now();
    const double cpu_start = cpu_now(cpu_clock);
    const Result<Tooth> tooth = trace(phantom->volume, request, progress);
    run.seconds = std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
    run.cpu_seconds = cpu_now(cpu_clock) - cpu_start;
    if (!tooth) {
        // A tooth of which nothing was traced misses all its canals.
        run.failure = tooth.error().sentence();
        run.error = compare(Tooth{}, *phantom);
        return run;
    }
    run.findings = tooth->findings;
    run.error = compare(*tooth, *phantom);
    return run;
}

std::vector<Trial> trace_phantoms(std::vector<PhantomOptions> options, unsigned workers,
                                  const std::function<void(const Trial&)>& done, double minutes) {
    using Clock = std::chrono::steady_clock;
    const auto start = Clock::now();
    std::atomic<std::size_t> next{0};
    std::vector<char> finished(options.size(), 0);
    std::vector<Trial> runs(options.size());
    // In the order of the draw whatever the workers, so that what is left out is its end.
    parallel_for(options.size(), workers, [&](std::size_t begin, std::size_t end) {
        for (; begin < end; ++begin) {
            const std::size_t i = next++;
            if (Clock::now() - start > std::chrono::duration<double, std::ratio<60>>(minutes))
                continue;
            options[i].threads = 1;
            runs[i] = trace_phantom(options[i]);
            finished[i] = 1;
            done(runs[i]);
        }
    });
    std::vector<Trial> kept;
    for (std::size_t i = 0; i < runs.size(); ++i) {
        if (finished[i] != 0) kept.push_back(std::move(runs[i]));
    }
    return kept;
}

std::vector<PhantomOptions> draw_phantoms(int count, std::uint64_t seed,
                                          const PhantomOptions& base) {
    constexpr std::uint64_t draw_stream = 1000;
    Random random(seed, draw_stream);
    std::vector<PhantomOptions> drawn;
    for (int i = 0; i < count; ++i) {
        PhantomOptions options = base;
        options.kind = "random";
        options.seed = random.bits() % 1000000;
        drawn.push_back(options);
    }
    return drawn;
}

}  // namespace anfract::truth
