import { commands, ExtensionContext, window, workspace } from "vscode";
import { Executable, LanguageClient, LanguageClientOptions } from "vscode-languageclient/node";

let client: LanguageClient | undefined;

/** The files that the server speaks about: plans, kit and an archive's root file. */
const documentSelector = [
  { scheme: "file", language: "leadsman" },
  { scheme: "untitled", language: "leadsman" },
];

async function start(): Promise<void> {
  const command = workspace.getConfiguration("leadsman").get<string>("path", "leadsman");
  const server: Executable = { command, args: ["lsp"] };
  const options: LanguageClientOptions = { documentSelector };
  client = new LanguageClient("leadsman", "Leadsman", server, options);
  try {
    await client.start();
  } catch (error) {
    client = undefined;
    const open = "Open the setting";
    const chosen = await window.showErrorMessage(`Leadsman: ${command} could not be started: ${String(error)}`, open);
    if (chosen === open) {
      await commands.executeCommand("workbench.action.openSettings", "leadsman.path");
    }
  }
}

async function stop(): Promise<void> {
  const running = client;
  client = undefined;
  await running?.stop();
}

export async function activate(context: ExtensionContext): Promise<void> {
  context.subscriptions.push(
    commands.registerCommand("leadsman.restart", async () => {
      await stop();
      await start();
    }),
    workspace.onDidChangeConfiguration(async (change) => {
      if (change.affectsConfiguration("leadsman.path")) {
        await stop();
        await start();
      }
    }),
  );
  await start();
}

export async function deactivate(): Promise<void> {
  await stop();
}
