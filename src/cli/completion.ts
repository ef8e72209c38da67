// The command `completion`: what a shell needs to complete a line, printed from the tree of commands itself, so that it can't
// fall behind it.
import { Argument, type Command, type Option } from 'commander';

const SHELLS = ['bash', 'zsh', 'fish'] as const;
type Shell = (typeof SHELLS)[number];

/** Adds `completion` to the program, whose other commands must be there already. */
export function addCompletion(program: Command): void {
  program
    .command('completion')
    .description('Prints the script with which a shell completes commands, options and files')
    .addArgument(new Argument('<shell>', 'the shell that will read it').choices(SHELLS))
    .addHelpText('after', HELP)
    .action((shell: Shell) => {
      process.stdout.write(PRINTED[shell](treeOf(program)));
    });
}

const HELP = `
Examples:
  $ vatwarden completion bash > ~/.local/share/bash-completion/completions/vatwarden
  $ vatwarden completion zsh > ~/.zfunc/_vatwarden
  $ vatwarden completion fish > ~/.config/fish/completions/vatwarden.fish
For zsh, the folder must be in fpath before compinit. A new shell knows it.
Exit code 0: printed; 2: no such shell.`;

/** What may follow an option or stand as an argument. */
type Value =
  | { readonly of: 'words'; readonly words: readonly string[] }
  | { readonly of: 'files' }
  | { readonly of: 'folders' }
  | { readonly of: 'anything' };

interface Leaf {
  readonly name: string;
  readonly about: string;
  readonly options: readonly {
    readonly long: string;
    readonly about: string;
    /** Null for a switch. */
    readonly value: Value | null;
  }[];
  readonly argument: Value | null;
}

function treeOf(program: Command): readonly Leaf[] {
  return program.commands.map((command) => {
    const [first] = command.registeredArguments;
    return {
      name: command.name(),
      about: command.summary() || command.description(),
      options: command.options.map((option) => ({
        long: option.long ?? '',
        about: option.description,
        value: takenBy(option),
      })),
      argument: first === undefined ? null : valueNamed(first.name(), first.argChoices),
    };
  });
}

function takenBy({ flags, argChoices }: Option): Value | null {
  const named = /[<[]([a-z:-]+)/u.exec(flags)?.[1];
  return named === undefined ? null : valueNamed(named, argChoices);
}

function valueNamed(name: string, choices: readonly string[] | undefined): Value {
  if (choices !== undefined) return { of: 'words', words: choices };
  if (/^(directory|state|to)$/u.test(name)) return { of: 'folders' };
  return { of: /^(file|files|site|journal)$/u.test(name) ? 'files' : 'anything' };
}

const PRINTED: Readonly<Record<Shell, (tree: readonly Leaf[]) => string>> = { bash, zsh, fish };

function bash(tree: readonly Leaf[]): string {
  const reply = (value: Value): string => {
    if (value.of === 'words') return `COMPREPLY=($(compgen -W '${value.words.join(' ')}' -- "$current"))`;
    if (value.of === 'files') return 'COMPREPLY=($(compgen -f -- "$current"))';
    return value.of === 'folders' ? 'COMPREPLY=($(compgen -d -- "$current"))' : ':';
  };
  const values = tree.flatMap(({ name, options }) =>
    options.flatMap(({ long, value }) =>
      value === null ? [] : [`    '${name} ${long}') ${reply(value)}; return ;;`],
    ),
  );
  const leaves = tree.map(({ name, options, argument }) => {
    const switches = options.map(({ long }) => long).concat('--help');
    return `    ${name}) options='${switches.join(' ')}'; [[ $current == -* ]] || { ${reply(argument ?? { of: 'anything' })}; return; } ;;`;
  });
  return `# vatwarden for bash; made by \`vatwarden completion bash\`
_vatwarden() {
  local current="\${COMP_WORDS[COMP_CWORD]}" before="\${COMP_WORDS[COMP_CWORD-1]}" options=''
  COMPREPLY=()
  if ((COMP_CWORD == 1)); then
    COMPREPLY=($(compgen -W '${tree.map(({ name }) => name).join(' ')} --help --version' -- "$current"))
    return
  fi
  case "\${COMP_WORDS[1]} $before" in
${values.join('\n')}
  esac
  case "\${COMP_WORDS[1]}" in
${leaves.join('\n')}
  esac
  COMPREPLY=($(compgen -W "$options" -- "$current"))
}
complete -o filenames -F _vatwarden vatwarden
`;
}

function zsh(tree: readonly Leaf[]): string {
  const plain = (text: string): string => text.replace(/['`[\]:\\]/gu, ' ').replace(/\s+/gu, ' ');
  const action = (value: Value): string => {
    if (value.of === 'words') return `(${value.words.join(' ')})`;
    return value.of === 'files' ? '_files' : value.of === 'folders' ? '_files -/' : ' ';
  };
  const leaves = tree.map(({ name, options, argument }) => {
    const specs = options.map(
      ({ long, about, value }) =>
        `'*${long}[${plain(about)}]${value === null ? '' : `:value:${action(value)}`}'`,
    );
    const rest = argument === null ? [] : [`'*:argument:${action(argument)}'`];
    return `      ${name}) _arguments ${[...specs, "'--help[what this is, by example]'", ...rest].join(' ')} ;;`;
  });
  return `#compdef vatwarden
# made by \`vatwarden completion zsh\`
_vatwarden() {
  local -a commands
  commands=(
${tree.map(({ name, about }) => `    '${name}:${plain(about)}'`).join('\n')}
  )
  if ((CURRENT == 2)); then
    _describe command commands
  else
    local called=$words[2]
    shift words
    ((CURRENT--))
    case $called in
${leaves.join('\n')}
    esac
  fi
}
compdef _vatwarden vatwarden
`;
}

function fish(tree: readonly Leaf[]): string {
  const quoted = (text: string): string => `'${text.replace(/[\\']/gu, (letter) => `\\${letter}`)}'`;
  const after = (value: Value | null): string => {
    if (value === null) return ' -f';
    if (value.of === 'words') return ` -x -a ${quoted(value.words.join(' '))}`;
    if (value.of === 'folders') return " -x -a '(__fish_complete_directories)'";
    return value.of === 'files' ? ' -r -F' : ' -x';
  };
  const lines = tree.flatMap(({ name, about, options, argument }) => {
    const inside = `complete -c vatwarden -n '__fish_seen_subcommand_from ${name}'`;
    return [
      `complete -c vatwarden -n __fish_use_subcommand -f -a ${name} -d ${quoted(about)}`,
      ...options.map(
        ({ long, about: words, value }) => `${inside} -l ${long.slice(2)} -d ${quoted(words)}${after(value)}`,
      ),
      ...(argument?.of === 'words' ? [`${inside} -f -a ${quoted(argument.words.join(' '))}`] : []),
      ...(argument?.of === 'files' ? [`${inside} -F`] : []),
    ];
  });
  return `# vatwarden for fish; made by \`vatwarden completion fish\`\n${lines.join('\n')}\n`;
}
