#include <unistd.h>

#include <csignal>
#include <cstdio>
#include <exception>
#include <thread>

#include "command.h"
#include "option_words.h"
#include "password.h"

namespace {

using anfract::Error;
using anfract::ErrorCode;
using anfract::Progress;
using anfract::Result;

const char* const description =
    "Anfract turns a cone-beam scan of one tooth into a canal-by-canal working plan.\n"
    "It is a planning aid, not a cleared medical device; the licensed clinician decides.\n\n"
    "The usual way:\n"
    "  anfract phantom lower-molar --out case      an invented scan to try things with\n"
    "  anfract survey case/scan                    what the scan is and can show\n"
    "  anfract trace case/scan --inside X,Y,Z --out tooth.json\n"
    "  anfract plan tooth.json --out plan.json\n"
    "  anfract report plan.json --out report.pdf\n"
    "  anfract serve                               the same in a web page on this machine";

/// One line that is redrawn on a terminal, and nothing elsewhere.
void draw_progress(double fraction, std::string_view stage) {
    constexpr int cells = 24;
    const int full = static_cast<int>(fraction * cells);
    std::fprintf(stderr, "\r\033[K[%.*s%.*s] %3.0f %%  %.*s", full, "########################",
                 cells - full, "........................", fraction * 100,
                 static_cast<int>(stage.size()), stage.data());
    if (fraction >= 1) std::fputs("\r\033[K", stderr);
    std::fflush(stderr);
}

/// Waits for SIGINT and SIGTERM on a thread of its own, since a handler may do next to nothing. The
/// work gets a second to end in order; a library call that cannot be interrupted is then cut short.
/// Files are only ever renamed into place when whole, so that leaves none half written.
void watch_for_signals(const sigset_t& signals, Progress& progress) {
    std::thread([signals, &progress] {
        int signal = 0;
        sigwait(&signals, &signal);
        progress.cancel();
        anfract::cli::show_typing();
        std::this_thread::sleep_for(std::chrono::milliseconds(900));
        anfract::cli::show_typing();  // it may have asked again meanwhile
        std::_Exit(1);
    }).detach();
}

int complain(const Error& error) {
    std::fprintf(stderr, "anfract: %s\n",
                 anfract::cli::with_option_named(error).sentence().c_str());
    return 1;
}

int run(const anfract::cli::Action& action) {
    const bool terminal = isatty(STDERR_FILENO) != 0;
    Progress progress = terminal ? Progress(draw_progress) : Progress();
    sigset_t signals;
    sigemptyset(&signals);
    sigaddset(&signals, SIGINT);
    sigaddset(&signals, SIGTERM);
    pthread_sigmask(SIG_BLOCK, &signals, nullptr);
    watch_for_signals(signals, progress);
    try {
        const Result<void> result = action(progress);
        return result ? 0 : complain(result.error());
    } catch (const std::bad_alloc&) {
        return complain({ErrorCode::Io, "there is not enough memory", "",
                         "close other programs or give a smaller scan"});
    } catch (const std::exception& defect) {
        return complain({ErrorCode::BadInput, std::string("unexpected failure: ") + defect.what(),
                         "", "please report this with the command you ran"});
    }
}

}  // namespace

int main(int argc, char** argv) {
    CLI::App app{description, "anfract"};
    app.set_version_flag("--version", ANFRACT_VERSION);
    app.require_subcommand(1);
    app.get_formatter()->column_width(34);

    anfract::cli::Action action;
    anfract::cli::add_commands(app, action);
    try {
        app.parse(argc, argv);
    } catch (const CLI::ParseError& error) {
        return app.exit(error) == 0 ? 0 : 2;
    }
    return run(action);
}
