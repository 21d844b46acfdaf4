/** Starts the app: settings, the store's housekeeping, the screens, and what makes it work offline. */
import { render } from "preact";
import "./style/tokens.css";
import "./style/base.css";
import "./style/sheet.css";
import "./style/forms.css";
import "./style/profile.css";
import "./style/describe.css";
import "./style/jobs.css";
import "./style/measure.css";
import "./style/find.css";
import "./style/traces.css";
import "./style/repair.css";
import "./style/record.css";
import "./style/server.css";
import { App } from "./app.tsx";
import { startDiagnosing } from "./job/diagnosis-now.ts";
import { startOffline } from "./offline/start-offline.ts";
import { startSettings } from "./settings.ts";
import { purgeDeleted } from "./storage/jobs.ts";
import { dropUnnamedLogs } from "./storage/logs.ts";
import { startFollowing } from "./storage/sync/following.ts";

startSettings();
render(<App />, document.getElementById("app")!);
startOffline();
startDiagnosing();
void purgeDeleted(Date.now()).then(dropUnnamedLogs).then(startFollowing);
