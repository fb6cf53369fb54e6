#pragma once

#include <memory>
#include <optional>
#include <semaphore>

#include "anfract/base/progress.h"
#include "anfract/http/router.h"
#include "anfract/record/record.h"
#include "anfract/report/letter.h"
#include "anfract/server/workspace_server.h"
#include "case_shelf.h"
#include "correction_bench.h"
#include "data_directory.h"
#include "doorkeeper.h"
#include "job_queue.h"
#include "scan_shelf.h"
#include "tray_shelf.h"
#include "upload_shelf.h"

namespace anfract::server {

/// Everything the routes work on. Outlives the server, whose handlers refer to it.
struct Workspace {
    ServeOptions options;
    Progress stopping;  ///< cancelled when the server stops, for handlers that change something;
                        ///< those that only tell something also end when nobody waits any more
    std::optional<Letter> letterhead;          ///< the practice's, for papers
    std::counting_semaphore<> large_files{2};  ///< turns at making archives, objects and models
    std::unique_ptr<DataDirectory> directory;
    std::unique_ptr<record::Record> record;
    std::unique_ptr<Doorkeeper> door;
    std::unique_ptr<TrayShelf> tray;
    std::unique_ptr<CaseShelf> cases;
    std::unique_ptr<ScanShelf> scans;
    std::unique_ptr<UploadShelf> uploads;
    std::unique_ptr<CorrectionBench> corrections;
    std::unique_ptr<JobQueue> jobs;  ///< last, so that it ends before what its jobs use
};

// One function per group of routes of docs/http-api.md.
void add_about_routes(http::Router& router);
void add_session_routes(http::Router& router, Workspace& workspace);
void add_job_routes(http::Router& router, Workspace& workspace);
void add_scan_routes(http::Router& router, Workspace& workspace);
void add_trace_routes(http::Router& router, Workspace& workspace);
void add_case_routes(http::Router& router, Workspace& workspace);
void add_log_routes(http::Router& router, Workspace& workspace);
void add_record_routes(http::Router& router, Workspace& workspace);
void add_edit_routes(http::Router& router, Workspace& workspace);
void add_reading_routes(http::Router& router, Workspace& workspace);
void add_paper_routes(http::Router& router, Workspace& workspace);
void add_exchange_routes(http::Router& router, Workspace& workspace);
void add_stock_routes(http::Router& router, Workspace& workspace);
void add_tray_routes(http::Router& router, Workspace& workspace);
void add_page(http::Router& router, const Workspace& workspace);

/// All of them, and the page. What shows a patient records that it was looked at.
http::Router routes_of(Workspace& workspace);

}  // namespace anfract::server
