#include "anfract/server/workspace_server.h"

#include <cstdlib>

#include "anfract/http/server.h"
#include "first_folders.h"
#include "workspace.h"

namespace anfract::server {
namespace {

class RunningServer final : public WorkspaceServer {
  public:
    RunningServer(std::unique_ptr<Workspace> workspace, std::unique_ptr<http::Server> server)
        : workspace_(std::move(workspace)), server_(std::move(server)) {}
    ~RunningServer() override { stop(); }

    std::uint16_t port() const override { return server_->port(); }

    void stop() override {
        workspace_->stopping.cancel();
        // Jobs first: their listeners then still learn that they were cancelled.
        workspace_->jobs->stop();
        server_->stop();
    }

  private:
    std::unique_ptr<Workspace> workspace_;
    std::unique_ptr<http::Server> server_;
};

}  // namespace

http::Router routes_of(Workspace& workspace) {
    http::Router router;
    add_about_routes(router);
    add_session_routes(router, workspace);
    add_scan_routes(router, workspace);
    add_trace_routes(router, workspace);
    add_job_routes(router, workspace);
    add_case_routes(router, workspace);
    add_log_routes(router, workspace);
    add_record_routes(router, workspace);
    add_edit_routes(router, workspace);
    add_reading_routes(router, workspace);
    add_paper_routes(router, workspace);
    add_exchange_routes(router, workspace);
    add_stock_routes(router, workspace);
    add_tray_routes(router, workspace);
    add_page(router, workspace);
    router.wrap([&workspace](const http::Route& route, http::Handler handler) {
        return workspace.door->recorded(route, std::move(handler));
    });
    return router;
}

namespace {

/// A record on the network must not be open to all.
Result<void> check_reach(const ServeOptions& options, const record::Record& record) {
    if (options.is_local()) return {};
    const auto accounts = record.accounts().find("");
    if (!accounts) return tl::unexpected(accounts.error());
    if (!accounts->any) {
        return fail(ErrorCode::BadInput, "would be open to everybody in the network",
                    options.address, "make an account first with 'anfract account add'");
    }
    if (options.tls_certificate.empty()) {
        return fail(ErrorCode::BadInput, "would be reached without encryption", options.address,
                    "give --tls-cert and --tls-key");
    }
    return {};
}

}  // namespace

Result<std::unique_ptr<WorkspaceServer>> WorkspaceServer::start(const ServeOptions& options,
                                                                const Progress& progress) {
    auto workspace = std::make_unique<Workspace>();
    workspace->options = options;
    if (!options.letter.empty()) {
        auto letter = read_letter(options.letter);
        if (!letter) return tl::unexpected(letter.error());
        workspace->letterhead = std::move(*letter);
    }
    auto directory = DataDirectory::open(options.data);
    if (!directory) return tl::unexpected(directory.error());
    workspace->directory = std::move(*directory);
    auto record = record::Record::open(
        record::RecordPlace::below(options.data, options.database, options.files));
    if (!record) return tl::unexpected(record.error());
    workspace->record = std::move(*record);
    if (auto good = check_reach(options, *workspace->record); !good)
        return tl::unexpected(good.error());
    if (auto taken = take_over_first_folders(*workspace->directory, *workspace->record); !taken)
        return tl::unexpected(taken.error());
    auto tray = TrayShelf::open(*workspace->record);
    if (!tray) return tl::unexpected(tray.error());
    workspace->tray = std::move(*tray);
    workspace->door =
        std::make_unique<Doorkeeper>(*workspace->record, !options.tls_certificate.empty());
    workspace->cases = std::make_unique<CaseShelf>(*workspace->record);
    workspace->scans = std::make_unique<ScanShelf>(*workspace->directory, *workspace->record,
                                                   options.scan_memory_bytes);
    workspace->uploads = std::make_unique<UploadShelf>(*workspace->directory);
    workspace->corrections = std::make_unique<CorrectionBench>(*workspace->record);
    for (const std::filesystem::path& path : options.open) {
        if (auto added = workspace->scans->add(path, "", progress); !added)
            return tl::unexpected(added.error());
    }
    workspace->jobs = std::make_unique<JobQueue>(options.running_jobs);

    http::ServerOptions http_options;
    http_options.port = options.port;
    http_options.address = options.address;
    http_options.tls = {options.tls_certificate, options.tls_key};
    http_options.guard = [&door = *workspace->door](http::Request& request,
                                                    const http::Route& route) {
        return door.admit(request, route);
    };
    // Requests such as a plan take seconds; rehearsals of a drag must not wait behind them.
    http_options.handler_threads = 8;
    auto server = http::Server::start(routes_of(*workspace), http_options);
    if (!server) return tl::unexpected(server.error());
    return std::make_unique<RunningServer>(std::move(workspace), std::move(*server));
}

std::filesystem::path default_data_directory() {
    if (const char* data = std::getenv("XDG_DATA_HOME"); data != nullptr && *data == '/') {
        return std::filesystem::path(data) / "anfract";
    }
    const char* home = std::getenv("HOME");
    return std::filesystem::path(home != nullptr ? home : ".") / ".local" / "share" / "anfract";
}

}  // namespace anfract::server
