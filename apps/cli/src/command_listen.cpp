#include <sys/resource.h>

#include <csignal>
#include <cstdio>
#include <memory>
#include <thread>

#include "record_commands.h"
#include "record_options.h"
#include "series_arrivals.h"
#include "tls_options.h"

namespace anfract::cli {
namespace {

struct Options {
    DicomReceiverOptions receiver;
    std::vector<std::string> allow;
    RecordOptions record;
    double quiet_s = 3;
};

void say(const std::string& line) {
    std::printf("%s\n", line.c_str());
    std::fflush(stdout);
}

/// No single file may grow beyond all reason, whatever a caller sends; the write then fails.
void limit_file_size(std::uint64_t bytes) {
    std::signal(SIGXFSZ, SIG_IGN);
    const rlimit limit{bytes, bytes};
    (void)::setrlimit(RLIMIT_FSIZE, &limit);
}

Result<void> listen(Options& options, const Progress& progress) {
    bool any_machine = false;
    for (const std::string& text : options.allow) {
        auto caller = parse_dicom_caller(text);
        if (!caller) return tl::unexpected(caller.error());
        any_machine = any_machine || caller->host.empty();
        options.receiver.callers.push_back(std::move(*caller));
    }
    const record::RecordPlace place = options.record.place();
    const std::filesystem::path data = place.files.parent_path();
    if (auto made = make_folder(place); !made) return made;
    const auto record = record::Record::open(place);
    if (!record) return tl::unexpected(record.error());
    const auto arrivals = SeriesArrivals::open(
        **record, data, std::chrono::milliseconds(std::int64_t(options.quiet_s * 1000)), say);
    if (!arrivals) return tl::unexpected(arrivals.error());
    options.receiver.folder = (*arrivals)->folder();
    limit_file_size(options.receiver.limit_bytes);
    {
        const auto receiver = DicomReceiver::start(
            options.receiver, [&](const DicomArrival& arrival) { (*arrivals)->add(arrival); }, say);
        if (!receiver) return tl::unexpected(receiver.error());
        if (any_machine && options.receiver.tls.trusted.empty()) {
            std::fprintf(stderr,
                         "Titles are no secret: name the machine of each caller (TITLE@HOST), or "
                         "ask for certificates with --trusted.\n");
        }
        say("listening as " + options.receiver.title + " on port " +
            std::to_string(options.receiver.port) +
            (options.receiver.tls.wanted() ? ", encrypted" : ""));
        while (!progress.cancelled()) {
            (*arrivals)->work((*receiver)->is_receiving(), progress);
            std::this_thread::sleep_for(std::chrono::milliseconds(50));
        }
    }
    return {};
}

}  // namespace

void add_listen_command(CLI::App& app, Action& action) {
    auto options = std::make_shared<Options>();
    CLI::App* command = app.add_subcommand(
        "listen", "Take in scans that other programs send (DICOM C-STORE), until Ctrl-C");
    command->add_option("--port", options->receiver.port, "port to listen on")
        ->check(CLI::Range(1, 65535))
        ->capture_default_str();
    command->add_option("--title", options->receiver.title, "our own application title")
        ->capture_default_str();
    command
        ->add_option("--allow", options->allow,
                     "TITLE or TITLE@HOST of a caller that may send; may be repeated")
        ->required();
    add_record_options(*command, options->record);
    command
        ->add_option("--quiet", options->quiet_s,
                     "seconds without another object after which a series is complete")
        ->check(CLI::Range(0.0, 3600.0))
        ->capture_default_str();
    add_tls_options(*command, options->receiver.tls);
    command->footer(
        "Listens on every network of this machine. Whoever is not allowed is turned away; without "
        "--key and --certificate all is unencrypted: within the practice's own network only.");
    command->callback([options, &action] {
        action = [options](Progress& progress) { return listen(*options, progress); };
    });
}

}  // namespace anfract::cli
