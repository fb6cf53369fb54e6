#include <chrono>
#include <cstdio>
#include <memory>
#include <thread>

#include "anfract/server/workspace_server.h"
#include "command.h"

namespace anfract::cli {
namespace {

Result<void> serve(const server::ServeOptions& options, Progress& progress) {
    const auto started = server::WorkspaceServer::start(options, progress);
    if (!started) return tl::unexpected(started.error());
    std::printf("serving %s://%s:%u\n", options.tls_certificate.empty() ? "http" : "https",
                options.address.find(':') == std::string::npos
                    ? options.address.c_str()
                    : ("[" + options.address + "]").c_str(),
                static_cast<unsigned>((*started)->port()));
    std::fflush(stdout);
    while (!progress.cancelled()) std::this_thread::sleep_for(std::chrono::milliseconds(20));
    (*started)->stop();
    return {};
}

}  // namespace

void add_serve_command(CLI::App& app, Action& action) {
    auto options = std::make_shared<server::ServeOptions>();
    options->port = 8642;
    CLI::App* command = app.add_subcommand(
        "serve", "Serve the web workspace on 127.0.0.1, or in the local network, until Ctrl-C");
    command->add_option("--port", options->port, "port to listen on; 0 takes any free one")
        ->capture_default_str();
    command
        ->add_option(
            "--listen", options->address,
            "address to listen on; one that others reach needs an account (anfract account "
            "add), --tls-cert and --tls-key")
        ->capture_default_str();
    CLI::Option* certificate =
        command->add_option("--tls-cert", options->tls_certificate,
                            "certificate in PEM form that holds the names the page is opened by");
    CLI::Option* key = command->add_option("--tls-key", options->tls_key,
                                           "its key in PEM form, for the user only to read");
    certificate->needs(key);
    key->needs(certificate);
    command->add_option("--data", options->data,
                        "directory for scans, cases and the tray (default: "
                        "$XDG_DATA_HOME/anfract or ~/.local/share/anfract)");
    command->add_option("--database", options->database,
                        "of the record: sqlite:PATH or postgresql://... (default: record.sqlite in "
                        "the data directory)");
    command->add_option("--files", options->files,
                        "folder of the record's files (default: files in the data directory)");
    command->add_option("--letter", options->letter,
                        "the practice's letterhead for letters and leaflets: anfract.letter file");
    command->add_option("--open", options->open,
                        "a scan to have in the list from the start; may be repeated");
    command->add_option("--page", options->page,
                        "serve the page from this folder instead of the built-in one");
    command->callback([options, &action] {
        if (options->data.empty()) options->data = server::default_data_directory();
        action = [options](Progress& progress) { return serve(*options, progress); };
    });
}

}  // namespace anfract::cli
